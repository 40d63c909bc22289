"""What the seasons do to a piece: the moisture of its wood, its growth, and every seam at its worst time of the year.

Takes a job with its climates, its layout, and its parts on their offcuts. Gives the noun `Seasons`, None where the job
says nothing of its climate. Promises:
- board and inserts grow as their wood, the way they were cut and their grain say, each about its own middle, as if
  nothing held them; what glue and neighbours hold back is stress, and is not reckoned;
- where nothing says how wood was cut, or when the piece is fitted, the worse of both is told;
- a wood without a figure is named, and its inserts are left out.
"""

from purfle.season.findings import findings_of
from purfle.season.reckoning import reckon

__all__ = ["findings_of", "reckon"]
