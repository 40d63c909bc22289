"""Translation between nouns and files: pictures, SVG, DXF, RS-274 programs, TOML, JSON. No judgement here.

Takes: files of the maker (picture, drawing, job), and the nouns of a finished plan.

Promises:
- the same nouns give the same bytes: no clock time, no random identifier, no library's version;
- a program holds the plain words of RS-274 alone, and no arc that rounding could make illegal or turn round;
- heights are rounded up, feeds down;
- outline files stand within `tolerances.ARC_FIT` of the finished lines, at true size, y up, arcs kept;
- the assembly card says where each part goes, and holds no outline of what is cut;
- a folder is written whole or left as it was; only files of ours ever go.

Refuses: what cannot be read or written, with what, where and how to mend it (PictureError, DrawingError,
JobFileError, FolderError).
"""
