"""The words of the command line, and what is said when something goes wrong."""

import argparse
import importlib
import io
import os
import re
import sys
from collections.abc import Sequence
from typing import Any, NoReturn, TypeAlias

import purfle
from purfle.errors import Fault, PurfleError
from purfle.hard_stop import at_worst

PROVEN, STOPPED_BY_FINDING, CANNOT_BE_USED, OUR_FAULT, INTERRUPTED = 0, 1, 2, 3, 130
"""Exit statuses; 3 is a bug in Purfle, 130 a stop by the maker (Ctrl-C)."""
BROKEN_PIPE = 141
"""The status that a program has which a closed pipe stopped (128 + 13), as shells report it."""


def main(words: Sequence[str] | None = None) -> int:
    """Run one command; the exit status."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # a name that this terminal cannot show stops nothing
    # the sums here are small: more threads only wait for each other, and a second process begins before there are any
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        arguments = command_line().parse_args(words)
        if words is None:  # the process is this command and nothing else
            at_worst(ended)
        module, name = arguments.run.split(":")
        status: int = getattr(importlib.import_module(module), name)(arguments)
        sys.stdout.flush()
        return status
    except PurfleError as refusal:
        return tell_faults(refusal.faults)
    except KeyboardInterrupt:
        print("\nStopped.", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        # what is still buffered has nowhere to go; without this the interpreter complains on its way out
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return BROKEN_PIPE
    except OSError as refusal:
        where = str(refusal.filename or "files, or what the output goes to")
        return tell_faults(
            [Fault(refusal.strerror or str(refusal), where, "Check the place, its rights and its room.")]
        )
    except MemoryError:
        return tell_faults([Fault("This machine has not enough memory for it", "memory", "Use a smaller picture.")])
    except Exception:  # the last door: a bug of ours, told as one
        tell_bug()
        return OUR_FAULT


def ended(refusal: PurfleError) -> NoReturn:
    """Tell a refusal and end the process at once, in the middle of whatever it does: files are written at the end."""
    tell_faults(refusal.faults)
    sys.stderr.flush()
    os._exit(CANNOT_BE_USED)


def tell_faults(faults: Sequence[Fault]) -> int:
    """Every fault on stderr: what, where, mend. The exit status that belongs to it."""
    for fault in faults:
        print(fault, file=sys.stderr)
    return CANNOT_BE_USED


def tell_bug() -> None:
    """A fault of Purfle itself: said so, with what a report needs."""
    import platform
    import traceback

    traceback.print_exc()
    system = f"Purfle {purfle.__version__}, Python {platform.python_version()}, {platform.system()}"
    print(
        f"\nThis is a bug in Purfle, not a fault of yours. The step that failed wrote nothing.\n"
        f"  mend:  report it with the lines above, your command, the job folder if you can, and: {system}",
        file=sys.stderr,
    )


class Words(argparse.ArgumentParser):
    """The command line; a slip in it is told like every other fault."""

    def __init__(self, *words: Any, **named: Any) -> None:
        super().__init__(*words, **named)
        # "-300mm" is a length that is told as one below nothing, not an option that nobody knows
        self._negative_number_matcher = re.compile(r"^-[\d.]")

    def error(self, message: str) -> NoReturn:
        """Say what is wrong with the words, and stop."""
        mend = f"See {self.prog} --help."
        sys.exit(tell_faults([Fault(message[:1].upper() + message[1:], f"the words after {self.prog}", mend)]))


def command_line() -> argparse.ArgumentParser:
    """Every command with its options and an example. Nothing heavy is imported before a command runs."""
    parser = Words(
        prog="purfle",
        allow_abbrev=False,
        description="Inlays in solid wood: from a picture, a board and the offcuts on the rack to parts that are "
        "proven to fit before any wood is cut.",
        epilog="Begin with: purfle new my-box picture.jpg, then: purfle make my-box\n"
        "Exit status: 0 made and proven; 1 made, but a finding says stop; 2 the input cannot be used.",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"purfle {purfle.__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for add in (_new, _make, _prove, _areas, _pieces, _fit_trial, _rack, _wood, _moisture, _movement, _open):
        add(commands)
    return parser


Commands: TypeAlias = "argparse._SubParsersAction[Words]"


def _command(commands: Commands, name: str, run: str, does: str, example: str) -> argparse.ArgumentParser:
    """One command; `run` names the function that does it, imported when it is asked for."""
    parser = commands.add_parser(
        name,
        help=does,
        description=does[:1].upper() + does[1:] + ".",
        allow_abbrev=False,
        epilog=f"example:\n  {example}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.set_defaults(run=run)
    return parser


def _new(commands: Commands) -> None:
    does = "make a job folder with a commented job.toml that already works"
    parser = _command(commands, "new", "purfle.cli.new:run", does, "purfle new tern-lid tern.jpg")
    parser.add_argument("folder", metavar="FOLDER", help="the folder to make")
    parser.add_argument(
        "artwork", metavar="PICTURE", nargs="?", help="a picture or drawing; without one, a ready shape"
    )
    parser.add_argument("--units", choices=["mm", "inch"], default="mm", help="what you measure in (default: mm)")
    _drawing_unit(parser)


def _open(commands: Commands) -> None:
    does = "open the page of a job in the browser: the whole job on one drawing, on this machine alone"
    parser = _command(commands, "open", "purfle.web.launch:run", does, "purfle open tern-lid")
    parser.add_argument("job", metavar="JOB", nargs="?", default=".", help="the job folder (this one, unless named)")
    parser.add_argument("--port", type=int, default=0, metavar="N", help="the port to serve at (a free one)")
    parser.add_argument("--no-browser", action="store_true", help="only show the link")


def _make(commands: Commands) -> None:
    does = "do the whole job: programs, outlines, bench sheets, report, and the dry fit that proves them"
    parser = _command(commands, "make", "purfle.cli.make:make", does, "purfle make tern-lid --out tern-files")
    parser.add_argument("job", metavar="JOB", help="the job folder, or its job.toml")
    parser.add_argument(
        "--out", metavar="DIR", help="where the files go (default: the folder 'made' in the job folder)"
    )
    words = "try every cutter of the shop first: a table, cutters.json, cutters.svg and cutters.png beside the rest"
    parser.add_argument("--cutters", action="store_true", help=words)


def _prove(commands: Commands) -> None:
    does = "do the dry fit alone, from the files in a folder and nothing else"
    parser = _command(commands, "prove", "purfle.cli.make:prove", does, "purfle prove tern-lid/made")
    parser.add_argument("folder", metavar="DIR", help="the folder that 'purfle make' wrote")


def _areas(commands: Commands) -> None:
    does = "find the areas of a picture or drawing, and write them as GeoJSON in pixels (y down) or in mm (y up)"
    example = "purfle areas tern.jpg --geojson areas.json\n  purfle areas tern-lid --points points.svg"
    parser = _command(commands, "areas", "purfle.cli.shapes:areas", does, example)
    parser.add_argument(
        "picture", metavar="PICTURE", help="a JPEG, PNG, WebP, TIFF, BMP or GIF file, an SVG or DXF drawing, or a job"
    )
    words = "of a job: draw its areas with a grid and a point in each, to name them by in the job file: .svg or .png"
    parser.add_argument("--points", metavar="FILE", help=words)
    parser.add_argument(
        "--sheet", metavar="SIZE", help="a photograph of a sheet of this size (a4, letter, ...); found by its corners"
    )
    parser.add_argument("--height", metavar="LENGTH", help="finished height of the design, to tell doubts in mm")
    parser.add_argument(
        "--doubts", metavar="FILE", help="draw the areas over the picture, doubtful places marked: .svg or .png"
    )
    _drawing_unit(parser)
    _geojson(parser)


def _pieces(commands: Commands) -> None:
    does = "make pieces that can be cut from a job, a picture or a drawing, and write them as GeoJSON in mm (y up)"
    example = "purfle pieces tern.svg --height 118mm --cutter 1/8in --seam 0.1mm --geojson pieces.json"
    example += "\n  purfle pieces tern-lid --geojson pieces.json"
    example += "\n  purfle pieces tern-lid --cutters which-cutter"
    example += "\n\nOf a job the pieces come as purfle make has them: all artworks, areas edited, order of letting in,"
    example += "\ncorners and cutters as its file says (butterfly keys are left out). Of a lone picture or drawing all"
    example += "\npieces lie side by side: edits of areas and an order can be given in a job file alone."
    parser = _command(commands, "pieces", "purfle.cli.cutters:pieces", does, example)
    words = "a job folder, a picture, or an SVG or DXF drawing; a job says itself what the options say of a drawing"
    parser.add_argument("drawing", metavar="JOB or DRAWING", help=words)
    words = "finished height of the design (default: that of a drawing that says its size)"
    parser.add_argument("--height", metavar="LENGTH", help=words)
    parser.add_argument("--cutter", metavar="LENGTH", help="diameter of the cutter (default: 1/8in)")
    parser.add_argument("--seam", metavar="LENGTH", help="width of every joint (default: 0.1mm)")
    _drawing_unit(parser)
    parser.add_argument("--geojson", metavar="FILE", help="where to write the pieces; - is standard output")
    words = "try every cutter of the shop instead: what is lost, how long it takes, which to take; files go into DIR"
    parser.add_argument("--cutters", metavar="DIR", help=words)
    parser.add_argument("--shop", metavar="FILE", help="the shop whose cutters are tried (default: the first shop)")
    parser.add_argument("--depth", metavar="LENGTH", help="of the recess, for --cutters (default: 3mm)")
    parser.add_argument("--units", choices=["mm", "inch"], help="what you measure in (default: mm)")


def _fit_trial(commands: Commands) -> None:
    does = "make a job that tries a cutter in numbered plugs; then put into the shop file how wide it really cuts"
    example = 'purfle fit-trial trial --cutter "1/8 in straight"\n  purfle make trial'
    example += '\n  purfle fit-trial trial --went-in 4 --plug "4 = 19.94 mm" --recess "4 = 20.06 mm"'
    parser = _command(commands, "fit-trial", "purfle.cli.fit_trial:run", does, example)
    parser.add_argument("folder", metavar="FOLDER", help="the folder of the trial: to make, or to tell of")
    parser.add_argument("--cutter", metavar="NAME", help="of a new trial: the cutter, by its name in the shop file")
    parser.add_argument("--ground", metavar="WOOD", help="of a new trial: the board (default: white oak)")
    words = "of a new trial: the plugs (default: that of the first offcut that is thick enough)"
    parser.add_argument("--wood", metavar="WOOD", help=words)
    parser.add_argument("--units", choices=["mm", "inch"], help="of a new trial: what you measure in (default: mm)")
    words = "number of the narrowest seam whose plug went in by hand, or none"
    parser.add_argument("--went-in", metavar="NUMBER", help=words)
    for option in ("plug", "recess"):
        words = f'a {option} as measured, such as "4 = 19.94 mm"; once for each that was measured'
        parser.add_argument(f"--{option}", metavar="SIZE", action="append", help=words)
    words = "change number on the sheets that were cut by; asked for where a trial is made again after an outcome"
    parser.add_argument("--change", metavar="NUMBER", help=words)
    words = "where the files of the trial are (default: the folder 'made' in its folder)"
    parser.add_argument("--made", metavar="DIR", help=words)


def _rack(commands: Commands) -> None:
    does = "tell what stands on the rack: every offcut with its wood, size, thickness, defects, worth and place"
    parser = _command(
        commands, "rack", "purfle.cli.rack:run", does, "purfle rack tern-lid\n  purfle rack shop.toml --json"
    )
    words = "a job folder, or a shop file (default: this folder)"
    parser.add_argument("place", metavar="JOB or SHOP", nargs="?", default=".", help=words)
    parser.add_argument("--units", choices=["mm", "inch"], default="mm", help="what you measure in (default: mm)")
    _json(parser)


def _wood(commands: Commands) -> None:
    does = "tell every figure of a wood, and where each comes from"
    parser = _command(
        commands, "wood", "purfle.cli.wood:species", does, 'purfle wood white oak\n  purfle wood "Quercus alba"'
    )
    parser.add_argument("species", metavar="SPECIES", nargs="+", help="a common, trade or botanical name")
    _own_woods(parser)


def _moisture(commands: Commands) -> None:
    does = "tell the moisture that wood settles at in air of a temperature and a humidity"
    example = "purfle moisture --temperature 20C --humidity 50\n  purfle moisture --climates"
    parser = _command(commands, "moisture", "purfle.cli.wood:moisture", does, example)
    parser.add_argument("--temperature", metavar="DEGREES", help='with its unit: "20C" or "68F"')
    parser.add_argument("--humidity", metavar="PERCENT", help="relative humidity of the air")
    parser.add_argument("--climates", action="store_true", help="every climate that is known by name, with its source")
    _json(parser)


def _movement(commands: Commands) -> None:
    does = "tell how much a board or a part changes its width from one moisture, or air, to another"
    example = "purfle movement white oak --width 300mm --from 8 --to 12 --cut flat"
    example += '\n  purfle movement wenge --width 2in --from "20C 35%" --to "heated house, temperate: summer"'
    parser = _command(commands, "movement", "purfle.cli.wood:movement", does, example)
    parser.add_argument("species", metavar="SPECIES", nargs="+", help="a common, trade or botanical name")
    parser.add_argument("--width", metavar="LENGTH", required=True, help="across the fibres, with its unit")
    words = 'moisture of the wood in %%; or the air: "20C 45%%"; or a climate with its season: "NAME: winter"'
    parser.add_argument("--from", dest="before", metavar="MOISTURE", required=True, help=f"before: {words}")
    parser.add_argument("--to", dest="after", metavar="MOISTURE", required=True, help="after, said in the same way")
    words = "flat, quarter, between, or the angle of its growth rings to the face in degrees (default: flat)"
    parser.add_argument("--cut", metavar="CUT", default="flat", help=words)
    parser.add_argument("--along", action="store_true", help="the length is along the fibres, not across them")
    _own_woods(parser)


def _own_woods(parser: argparse.ArgumentParser) -> None:
    words = "the shop file with woods of your own, [[wood]] (default: shop.toml in this folder, if there is one)"
    parser.add_argument("--shop", metavar="FILE", help=words)
    _json(parser)


def _json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="as JSON, units in the names of its keys")


def _drawing_unit(parser: argparse.ArgumentParser) -> None:
    words = ["mm", "cm", "m", "inch", "ft"]
    parser.add_argument("--drawing-unit", choices=words, help="what one unit of a DXF is, if its file does not say so")


def _geojson(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--geojson", metavar="FILE", help="where to write; - is standard output")


if __name__ == "__main__":
    sys.exit(main())
