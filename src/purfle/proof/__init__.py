"""The dry fit: proof, from the written files alone, that the parts go together.

Takes the files of the output folder by name: the assembly card, the programs, the outline files.

Promises:
- It shares no code with what wrote the files, and trusts no figure of the plan: shapes come from the programs, the SVG
  and the DXF, each read by its own published rules.
- Every program is read as strictly as the strictest machine reads it, and swept with the cutter that it asks for.
- Each wall stands within `tolerances.SIDE_AS_CUT` of its outline, each floor within `DEPTH_AS_CUT` of its depth; of
  program, SVG and DXF, the one that disagrees with the other two is named.
- Parts are moved to their places and measured along the whole seam, for each kind of file.
- Wood left between the two faces is read off the programs.
- `Proof.proven` is True only where every file was read and nothing says stop.
- Same files, same proof.

Refuses (ProgramError): a card, program or outline file that cannot be read without guessing.
"""

from purfle.proof.dry_fit import dry_fit
from purfle.proof.empty_places import is_empty_place

__all__ = ["dry_fit", "is_empty_place"]
