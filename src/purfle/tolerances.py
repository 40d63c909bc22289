"""Every tolerance of the project, in three tiers. All in mm unless the name says otherwise.

No bare small number stands anywhere else: a module that needs one names it here, with its reason.
"""

# --- arithmetic: below these, two numbers are the same number ---
GRID = 1e-4
"""Precision grid of overlays: far below any cutter's accuracy, far above float64 noise at board size."""
SAME_PLACE = 1e-7
"""Two places closer than this are one place."""
SAME_ANGLE_DEG = 1e-9
"""Two directions closer than this are one direction."""

SAME_COLOUR = 1e-6
"""Squared distance, in levels, below which two colours are one: keeps divisions by it finite."""
SUM_OF_AREAS = 1e-9
"""Share of a frame by which the sum of the areas that tile it may differ from it: rounding of floats, nothing else."""
SOLVABLE = 1e-9
"""Added to the diagonal of normal equations, so that points which lie in one place keep them solvable."""
SAME_SHARE = 1e-6
"""Two sizes that differ by a smaller share than this are one size."""
AXIS_UNIT = 1e-5
"""Grid of the segment Voronoi diagram, 10 nm: 20 m on it fit its 32-bit integers."""

# --- curve: how far a polyline may stand off the curve it stands for ---
FLAT = 0.002
"""Flattening of drawn curves, at the size at which they are made. No more than ARC_FIT: chords that rise further are
not found to be arcs again, and a seam between two circles varied by 0.002 in SVG and DXF instead of 0.0005."""
QUADRANT_SEGMENTS = 32
"""Segments a quarter circle in every offset; 8 and 16 failed the closing check, 32 held (docs/method)."""
CLOSING_KEPT = 0.002
"""A part of closing minus piece that is shallower than this is arc error, not wood."""
CLOSED = 0.005
"""A piece is closed when it stands nowhere further than this off its closing, by both engines."""
CLOSING_SLACK = 0.003
"""Added to the closing radius so that what is checked with the cutter itself passes with room."""
CLOSING_PLAY = 0.0015
"""What is closed by one radius is looked at with a radius smaller by this: three times the error of the chords."""
ARC_FIT = 0.002
"""Largest distance between a fitted arc and the polyline that it replaces."""
LAST_PASS_FIT = 0.0005
"""As ARC_FIT, for the last pass: two walls make a seam, which may lose 0.001 at most (costs a fifth more moves)."""
ROUGHING_FLAT = 0.005
"""Roughing rings may be simplified by this: a twentieth of the allowance that they stay off the line."""
RAMP_SINKS = 0.0003
"""Each move of a ramp sinks by more than this: a program's last digit (0.00001 in at most) must not make it level."""
PATH_JOIN = 0.001
"""Ends of consecutive path parts closer than this are joined."""
FILM = 0.0005
"""What is thinner than this is a film left by the precision grid, not wood: a few grid steps."""
ZIGZAG = 0.001
"""A vertex whose triangle with its neighbours has less than the square of this as area carries no shape."""
TOUCHING = 0.001
"""Regions nearer than this lie against each other while they are being worked on."""
SEAM_DRAWN = 0.001
"""A drawn seam may be narrower than asked for by this: the error of chords on both its sides."""
SEAM_SHARE = 0.01
"""A seam that is wider than asked for by no more than this counts as even."""
SEAM_GOAL_FACTOR = 1.3
"""Tips so sharp that the seam would open beside them to more than this times its width are trimmed."""
SHALLOW_CONTEST = 0.02
"""Where pieces contest wood shallower than this, a little room about it is decided first, not a cutter's width."""
DETAIL_IN_RADII = 0.35
"""A lost part in which a disc of this many cutter radii fits is a detail; a rounded 60 degree corner has a third."""
UNCOMMON_GAP = 0.02
"""Share by which a sampled gap departs from the commonest one before it is looked at more finely."""
OFFSET_ARC = 0.0002
"""Largest distance between a round corner and its chords in the second engine: below the first engine's 0.0005."""
OFFSET_PLACE = 0.0005
"""A vertex of an offset outline may stand this far, besides the error of its chords, from where it belongs."""
OFFSET_PERTURBED = (1.00003, 0.99998, 1.0001)
"""Factors on the distance when the first engine failed: far below what a cutter shows, enough to turn its luck."""

AXIS_FLAT = 0.001
"""Chords of the medial axis stand off its parabolas by this at most: the tip then goes no more than it too deep."""
AXIS_PRUNED = 0.004
"""A branch of the medial axis is left out where the wall that it would cut stands off by less than this: corners
between the chords of a flattened curve (FLAT) are none."""
ON_CONTOUR = 0.003
"""An end of the medial axis at full depth lies on the contour of that depth within this: the chords of both."""
OVER_CONTOUR = 0.001
"""A straight way over the bottom may pass the contour of full depth by this: its ends lie on that, within chords."""

PROOF_FLAT = 0.0005
"""Flattening of arcs and of the round cutter when files are read back: far below what a wall may stand off."""
GROOVE_TRUE = 0.001
"""The side of a swept groove may stand off a radius from the cutter's way by this: the chords of round ends, twice."""
ARC_RADII = 0.002
"""Start and end radius of a program's arc may differ by this in a mm program (NIST RS274/NGC)."""
ARC_RADII_INCH = 0.0002
"""The same in an inch program, in inches (NIST RS274/NGC)."""
OUTLINES_AGREE = 0.005
"""SVG and DXF of one set-up hold the same outlines within this: rounding of both, and their flattening."""
SAME_OUTLINE = 1e-5
"""Outlines of two files whose corners agree within this are one: a thousandth of what a wall may stand off."""

PIN_AS_DRAWN = 0.05
"""The hole of a pin read back may be wider or narrower than its pin by this on each side."""
ALIKE_OPENINGS = 0.004
"""Openings of templates that lie on each other within this are one template: a third of what a wall may stand off."""
ALIKE_BY_MIRROR = 0.01
"""Outlines that lie within this of their mirror images are meant to be alike: three times the flattening of curves."""
CHAIN_GAP = 0.1
"""Ends of lines in a drawing that are no further apart belong together; each gap is reported. As wide as a seam."""
GAP_TOLD = 0.01
"""A closed gap that is narrower than this is rounding of the program that drew it, or a chord's: it is not told."""

# --- shop: what a caliper, a rule or a machine shows ---
SEAM_AS_CUT = 0.02
"""A seam read back may differ from the drawn one by this, except at listed junctions."""
DEPTH_AS_CUT = 0.05
"""A depth read back may differ from the planned one by this."""
SIDE_AS_CUT = 0.012
"""A wall read back from a program may stand off its outline by this."""
TAPERED_AS_CUT = 0.008
"""A tapered wall read back may stand off its outline by this: twice what pruning of the medial axis leaves. A depth
error of 0.03 shows as much with half an angle of 15 degrees."""
SHALLOWER_SINK = 0.3
"""Around an insert what stands may be higher than its full depth by this: cusps of the V cutter, off the ground."""
SEAM_CORNER_FACTOR = 2.0
"""At a junction the seam may open to this times the drawn seam; beyond it the piece is refused."""
THINNEST_PIECE = 0.8
"""A part narrower than this cannot be cut or handled."""
OPENING_COSTS = 0.01
"""Share of its area that a spot may lose in its corners where it is let in over another insert by itself."""
HOST_LEFT = 0.8
"""Wood of an insert that has to be left below a recess cut into it (common practice, no source)."""
THINNEST_WALL = 1.5
"""A wall of ground between two recesses thinner than this breaks out (practice, from memory)."""
DEPTH_LISTED = 0.01
"""A pass of a program is one of the depths on the card within this."""
JUST_BELOW = 0.001
"""How far below the top, or above the bottom, of the wood a section is taken."""
FITTING_AS_CUT = 0.1
"""A recess for hardware read back may stand, and measure, this much off what was asked for."""
CLEAR_OF_WOOD = 0.02
"""A cutter that goes down where wood is gone may come this near its side: half of that is no chip."""
NO_WOOD = 5e-4
"""In mm2: an area of uncut or gouged wood smaller than this is none."""
SEAM_WIDE_SHARE = 0.05
"""Share of a seam's length that may be junctions wider than the drawn seam."""
SEAM_STEP = 0.25
"""Distance between the places where a seam is measured; corners are measured too."""
SEEN_ON_A_RULE = 1.0
"""Two places further apart than this are told apart beyond doubt with a rule that shows half millimetres."""
MARK_ON = 0.3
"""A line to be pencilled belongs to a recess whose end or side lies within this of it (half a seam apart at most)."""
AS_ASKED = 0.05
"""A size that comes out smaller than asked by no more than this is told as the size asked for: half a common seam."""
CORNER_SEEN = 0.05
"""A corner that the cutter rounds off by less than this is not worth a chisel: half a common seam."""
CORNER_SHORTER = 0.5
"""A corner or tip that comes out shorter than drawn by less than this is not missed at arm's length."""
CORNER_MEANT = 3.0
"""A wish for a single corner means the nearest one, no further away than this."""
SEAM_PLACE = 1.0
"""Wide places of a seam nearer to each other than this are one place."""
