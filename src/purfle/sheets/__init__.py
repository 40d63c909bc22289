"""Bench sheets: the job on paper, to be pinned up over the bench, and the picture of the finished piece.

Takes a whole `JobResult`, the unit that lengths are read in and the paper.
Promises:
- `bench_sheets` returns one PDF with every sheet of the job; the same job gives the same bytes;
- everything drawn comes from the regions, poses and figures of the job, at a scale that is printed beside it;
- every page carries the job's name and change, its number, and a bar to check the print with a rule;
- nothing is cut off, and no figure lies over another: rows, leaders and marks are placed by rule, long lists flow on;
- the underside is drawn as seen from below, says so, and carries its check distance.
Refuses: woods that are not known by name (`purfle.wood`).

How a sheet is made: `sheets/<name>.py` exposes `data(result, style)`, which returns what one page says as plain
dicts, lists, texts and numbers (or a list of such pages, or an empty list if this job needs no such sheet), with
`title` and `sub` for the page's head; `sheets/<name>.typ` exposes `draw(d)`, which sets one such page. `book.SHEETS`
names the sheets in their order. Texts are runs (`lettering.bold`, `italic`); tables are `lettering.table`; drawings
are a `drawing.Drawing`, in mm on the paper, y down; `base.typ` sets all of these. Lengths pass through `style.Style`.
"""

from purfle.sheets.book import Draft, Pages, bench_sheets, draft_of, draw_before_the_plan, rehearse, sheets_of
from purfle.sheets.cutters import PageHead, cutters_page
from purfle.sheets.finished import finished_picture_png, prepare_board
from purfle.sheets.finished_lines import finished_picture
from purfle.sheets.papers import papers_of
from purfle.sheets.style import Style
from purfle.sheets.thickness import thickness_pictures

__all__ = [
    "Draft",
    "PageHead",
    "Pages",
    "Style",
    "bench_sheets",
    "cutters_page",
    "draft_of",
    "draw_before_the_plan",
    "finished_picture",
    "finished_picture_png",
    "papers_of",
    "prepare_board",
    "rehearse",
    "sheets_of",
    "thickness_pictures",
]
