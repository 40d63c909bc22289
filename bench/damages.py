"""Kinds of damage to a made and proven folder: to its programs, SVG and DXF outlines, and its assembly card.

Each kind takes a folder and a source of chance, and gives the damaged files with what the dry fit has to name (a file,
a set-up, a part, an inlay: any of them), or None where it does not apply. Kinds in `MEASURED` may happen to change no
wood: only those count that move a wall by 0.02 mm or more, or a floor by 0.05 mm, as `wood_that_stays` reckons.
"""

import random
import re
from collections.abc import Callable

from damaged_folder import NUMBER, Damaged, Folder, Kind, parts_of
from damaged_programs import (
    all_moves,
    bytes_in,
    crossing_low,
    cut_short,
    deepest_by,
    exchanged,
    missing,
    one_move_deeper,
    plus,
    program_mirrored,
    program_turned,
    rapid_in_wood,
    shifted,
    some_line,
    stray_cut,
    times,
    torn_off,
    units_exchanged,
    v_deeper,
    v_place_aside,
    v_program,
    v_trip_gone,
    wall_move_dropped,
    wall_moved,
    word,
)

from shifted_files import later_aside

# --- SVG


def svg_change(pattern: str, change: Callable[[re.Match[str]], str], templates: bool = False) -> Kind:
    """One match of a pattern in an SVG, in the paths of lines alone, changed."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        names = folder.outline_files("svg", templates)
        if not names:
            return None
        name = chance.choice(names)
        text = folder.text(name)
        paths = list(re.finditer(r'<path id="(?!stock)[^"]*" d="([^"]*)"/>', text))
        path = chance.choice(paths)
        found = list(re.finditer(pattern, path[0]))
        if not found:
            return None
        one = chance.choice(found)
        put = path[0][: one.start()] + change(one) + path[0][one.end() :]
        return folder.changed(name, text[: path.start()] + put + text[path.end() :])

    return damage


def svg_whole(pattern: str, put: str) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        name = chance.choice(folder.card["set_ups"])["svg"]
        return folder.changed(name, re.sub(pattern, put, folder.text(name), count=1))

    return damage


def svg_scaled(by: float, templates: bool = False) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        names = folder.outline_files("svg", templates)
        if not names:
            return None
        name = chance.choice(names)
        return folder.changed(name, re.sub(r' d="([^"]*)"', lambda m: f' d="{_scaled(m[1], by)}"', folder.text(name)))

    return damage


def _scaled(path: str, by: float) -> str:
    """Numbers of a path larger; flags and the turn of an arc stay."""
    result, since, letter = [], 0, ""
    for one in re.findall(rf"[MLAZ]|{NUMBER}", path):
        if one in "MLAZ":
            letter, since = one, 0
        else:
            since += 1
            if not (letter == "A" and since % 7 in (3, 4, 5)):
                one = f"{float(one) * by:.6f}"
        result.append(one)
    return " ".join(result)


def svg_moved(match: re.Match[str]) -> str:
    return f"{match[1]}{float(match[2]) + 0.06:.5f}{match[3]}{float(match[4]) - 0.06:.5f}"


# --- DXF


def dxf_change(code: int, change: Callable[[float], float], stock: bool = False, templates: bool = False) -> Kind:
    """One figure of a group code in the polylines of lines changed."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        names = folder.outline_files("dxf", templates)
        if not names:
            return None
        name = chance.choice(names)
        lines = folder.text(name).split("\n")
        begin = [
            n for n in range(0, len(lines) - 1, 2) if lines[n].strip() == "0" and lines[n + 1].strip() == "LWPOLYLINE"
        ]
        wanted = begin[:1] if stock else begin[1:]
        found = []
        for start in wanted:
            end = next(n for n in range(start + 2, len(lines), 2) if lines[n].strip() == "0")
            found += [n + 1 for n in range(start + 2, end, 2) if lines[n].strip() == str(code)]
        if not found:
            return None
        at = chance.choice(found)
        lines[at] = f"{change(float(lines[at])):.9f}"
        return folder.changed(name, "\n".join(lines))

    return damage


def dxf_line_gone(folder: Folder, chance: random.Random) -> Damaged | None:
    name = chance.choice(folder.card["set_ups"])["dxf"]
    lines = folder.text(name).split("\n")
    begin = [n for n in range(0, len(lines) - 1, 2) if lines[n].strip() == "0" and lines[n + 1].strip() == "LWPOLYLINE"]
    if len(begin) < 2:
        return None
    start = chance.choice(begin[1:])
    end = next(n for n in range(start + 2, len(lines), 2) if lines[n].strip() == "0")
    return folder.changed(name, "\n".join(lines[:start] + lines[end:]))


def dxf_word(pattern: str, put: str, everywhere: bool = False) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        name = chance.choice(folder.card["set_ups"])["dxf"]
        return folder.changed(name, re.sub(pattern, put, folder.text(name), count=0 if everywhere else 1))

    return damage


# --- the card


def part(change: Callable[[dict], object]) -> Kind:
    """One part of the card changed; the part, its inlay or its set-up has to be named."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        i = chance.randrange(len(folder.card["inlays"]))
        inlay = folder.card["inlays"][i]
        j = chance.randrange(len(inlay["parts"]))
        one = inlay["parts"][j]
        named = (f"part {one['number']} (", f"'{inlay['name']}'", inlay["name"], "assembly")
        return folder.with_card(lambda card: change(card["inlays"][i]["parts"][j]), *named)

    return damage


def inlay(change: Callable[[dict], object]) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        i = chance.randrange(len(folder.card["inlays"]))
        one = folder.card["inlays"][i]
        parts = [f"part {each['number']} (" for each in one["parts"]]
        return folder.with_card(lambda card: change(card["inlays"][i]), one["name"], *parts, "assembly")

    return damage


def set_up(change: Callable[[dict], object]) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        i = chance.randrange(len(folder.card["set_ups"]))
        one = folder.card["set_ups"][i]
        files = [each["file"] for each in one["programs"]]
        named = (one["title"], one["svg"], one["dxf"], *files, "assembly", *parts_of(folder, one["number"]))
        return folder.with_card(lambda card: change(card["set_ups"][i]), *named)

    return damage


def fitting(change: Callable[[dict], object]) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        if not folder.card["fittings"]:
            return None
        i = chance.randrange(len(folder.card["fittings"]))
        one = folder.card["fittings"][i]
        return folder.with_card(lambda card: change(card["fittings"][i]), f"fitting {one['number']}", "assembly")

    return damage


def cutter(change: Callable[[dict], object]) -> Kind:
    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        i = chance.randrange(len(folder.card["cutters"]))
        number = folder.card["cutters"][i]["number"]
        files = [p["file"] for s in folder.card["set_ups"] for p in s["programs"] if p["cutter"] == number]
        inlays = [one["name"] for one in folder.card["inlays"]]
        lines = [f"'{line['id']}'" for s in folder.card["set_ups"] for line in s["lines"]]
        return folder.with_card(lambda card: change(card["cutters"][i]), *files, *inlays, *lines, "assembly")

    return damage


def steps(change: Callable[[list[dict]], object]) -> Kind:
    """The passes by hand of one line changed, a list of them; the line, its files or the card has to be named."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        if folder.by_machine:
            return None
        i = chance.randrange(len(folder.card["set_ups"]))
        one = folder.card["set_ups"][i]
        line = chance.choice(one["lines"])["id"]

        def changed(card: dict) -> object:
            every = card["set_ups"][i]["steps"]
            its = [step for step in every if step["line"] == line]
            if change(its) is False:
                return False
            card["set_ups"][i]["steps"] = [step for step in every if step["line"] != line] + its
            return True

        return folder.with_card(changed, f"'{line}'")

    return damage


def guide(change: Callable[[dict], object]) -> Kind:
    """What guides a line by a template changed."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        every = [(i, j) for i, s in enumerate(folder.card["set_ups"]) for j in range(len(s["guides"]))]
        if not every:
            return None
        i, j = chance.choice(every)
        one = folder.card["set_ups"][i]
        named = (f"'{one['guides'][j]['line']}'", one["title"], *parts_of(folder, one["number"]))
        return folder.with_card(lambda card: change(card["set_ups"][i]["guides"][j]), *named)

    return damage


def template(change: Callable[[dict], object]) -> Kind:
    """What the card says of a template changed."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        if not folder.card["templates"]:
            return None
        i = chance.randrange(len(folder.card["templates"]))
        one = folder.card["templates"][i]
        named = (one["svg"], one["dxf"], f"template {one['number']}", "assembly")
        return folder.with_card(lambda card: change(card["templates"][i]), *named)

    return damage


def tab(change: Callable[[dict], object]) -> Kind:
    """What the card says of a tab changed; its part has to be named."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        every = [
            (i, j, k)
            for i, s in enumerate(folder.card["set_ups"])
            for j, line in enumerate(s["lines"])
            for k in range(len(line["tabs"]))
        ]
        if not every:
            return None
        i, j, k = chance.choice(every)
        line = folder.card["set_ups"][i]["lines"][j]["id"]
        return folder.with_card(lambda card: change(card["set_ups"][i]["lines"][j]["tabs"], k), f"'{line}'", "assembly")

    return damage


def sawing(change: Callable[[dict], object]) -> Kind:
    """How parts are sawn off a block, changed."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        every = [i for i, one in enumerate(folder.card["set_ups"]) if one["sawing"]]
        if not every:
            return None
        i = chance.choice(every)
        one = folder.card["set_ups"][i]
        named = ("assembly", one["title"], *(f"'{line['id']}'" for line in one["lines"]))
        return folder.with_card(
            lambda card: change(card["set_ups"][i]["sawing"]), *named, *parts_of(folder, one["number"])
        )

    return damage


def corner(change: Callable[[list], object]) -> Kind:
    """A corner that is left to the chisel, changed; `change` works on the list, the first of it has been chosen."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        every = [i for i, one in enumerate(folder.card["inlays"]) if one["chisel"]]
        if not every:
            return None
        i = chance.choice(every)
        name, at = folder.card["inlays"][i]["name"], chance.randrange(len(folder.card["inlays"][i]["chisel"]))

        def changed(card: dict) -> object:
            its = card["inlays"][i]["chisel"]
            its.insert(0, its.pop(at))
            return change(its)

        return folder.with_card(changed, name)

    return damage


def hole(change: Callable[[dict, dict], object]) -> Kind:
    """A hole that is drilled by hand, changed; `change` has the hole and the card."""

    def damage(folder: Folder, chance: random.Random) -> Damaged | None:
        if not folder.card["holes"]:
            return None
        i = chance.randrange(len(folder.card["holes"]))
        named = f"hole {folder.card['holes'][i]['number']} of"
        return folder.with_card(lambda card: change(card["holes"][i], card), named, "assembly")

    return damage


def _into_other_hardware(one: dict, card: dict) -> object:
    """A hole in the middle of a recess for hardware that it does not serve."""
    others = [each for each in card["fittings"] if each["face"] == one["face"] and each["name"] != one["fitting"]]
    return one.update(centre=others[0]["centre"]) if others else False


def laid_over(by: float) -> Kind:
    """What is let in last with tapered walls, aside in all files alike, so that it takes what is seen of the rest."""

    def damage(folder: Folder, _: random.Random) -> Damaged | None:
        files = later_aside(folder.files, by)
        return None if files is None else Damaged(files, ("what is to be seen of",))

    return damage


def too_early(card: dict) -> object:
    """What is let in over another is cut before it."""
    late = next((one["recess"]["set_up"] for one in card["inlays"] if one["into"]), None)
    if late is None:
        return False
    card["set_ups"].sort(key=lambda one: one["number"] != late)
    return True


def by_machine(kind: Kind) -> Kind:
    """The kind for jobs that are cut by programs alone."""
    return lambda folder, chance: kind(folder, chance) if folder.by_machine else None


def by_cutter_width(kind: Kind) -> Kind:
    """The kind where a wall stands where it does by the width of the cutter: along outlines it is set off by hand."""
    ways = ("machine", "templates")
    return lambda folder, chance: kind(folder, chance) if folder.card["way"] in ways else None


def card(change: Callable[[dict], object], *named: str) -> Kind:
    return lambda folder, chance: folder.with_card(change, *named)


def _add(key: str, by: float) -> Callable[[dict], object]:
    return lambda one: one.update({key: one[key] + by})


def _put(**values: object) -> Callable[[dict], object]:
    return lambda one: one.update(values)


def _without(key: str) -> Callable[[dict], object]:
    return lambda one: one.pop(key)


def _pose(**by: float) -> Callable[[dict], object]:
    return lambda one: one["to_board"].update({key: one["to_board"][key] + amount for key, amount in by.items()})


def _parts_exchanged(one: dict) -> object:
    """Two parts of an inlay, each put where the other goes; nothing for parts that are alike in the files."""
    if len(one["parts"]) < 2:
        return False
    first, second = one["parts"][0], one["parts"][1]
    first["to_board"], second["to_board"] = second["to_board"], first["to_board"]
    return True


def _line(change: Callable[[dict], object]) -> Callable[[dict], object]:
    return lambda one: change(one["lines"][0])


def _v(change: Callable[[dict], object]) -> Callable[[dict], object]:
    return lambda one: change(one["v"]) if one["v"] else False


def _walls(change: Callable[[dict], object]) -> Callable[[dict], object]:
    return lambda one: change(one["walls"]) if one["walls"] else False


KINDS: dict[str, Kind] = {
    # programs: wood
    "program: end point on a wall moved by 0.02": wall_moved(0.02),
    "program: end point on a wall moved by 0.03": wall_moved(0.03),
    "program: end point on a wall moved by 0.2": wall_moved(0.2),
    "program: end point on a wall moved off it by 0.03": wall_moved(-0.03),
    "program: move on a wall dropped": wall_move_dropped,
    "program: deepest pass 0.05 deeper": deepest_by(0.05),
    "program: deepest pass 0.06 less deep": deepest_by(-0.06),
    "program: one move 0.08 deeper": one_move_deeper,
    "program: stray cut into a wall": stray_cut,
    "program: 1 % larger": all_moves(times("XYIJ", 1.01)),
    "program: 0.2 % smaller": all_moves(times("XYIJ", 0.998)),
    "program: shifted by 0.05 along x": shifted("X", 0.05),
    "program: shifted by 0.05 along y": shifted("Y", -0.05),
    "program: turned by a quarter of a degree": program_turned,
    "program: mirrored": program_mirrored,
    "program: ends half-way": cut_short(0.5),
    "program: last tenth missing": cut_short(0.9),
    "program: the two exchanged": exchanged(".nc"),
    "program: missing": missing("nc"),
    # programs: what a machine would make of them
    "program: mm taken for inches, or inches for mm": units_exchanged,
    "program: torn off": torn_off,
    "program: no feed": word(rf" F{NUMBER}", ""),
    "program: feed beyond the machine": word(rf"F{NUMBER}", "F99999", everywhere=True),
    "program: no spindle": word(r"M3 S\d+\n", ""),
    "program: faster than marked on the cutter": word(r"S\d+", "S199999"),
    "program: another cutter": word(r"\nT(\d+)", r"\nT9\1"),
    "program: relative moves": word("G90", "G91"),
    "program: no end": word(r"M5\nM2\n", ""),
    "program: unknown word": some_line(r"^G1 X", lambda line: f"G41 {line}"),
    "program: word said twice": some_line(r"^G1 X", lambda line: f"{line} X1.0"),
    "program: number that is none": some_line(r"^G1 X", lambda line: line.replace("X", "X1.2.")),
    "program: bytes that are no text": bytes_in(".nc", b"\xff\xfe\n"),
    "program: comment left open": some_line(r"^\(", lambda line: line.rstrip(")")),
    "program: full speed in the wood": rapid_in_wood,
    "program: across below the safe height": crossing_low,
    "program: arc the other way round": some_line(r"^G2 X", lambda line: line.replace("G2", "G3"), straight=True),
    "program: middle of an arc off by 0.05": some_line(r"^G[23] .*I", plus("I", 0.05)),
    "program: middle of an arc across": some_line(r"^G[23] .*J", times("J", -1.0)),
    # SVG
    "svg: a point moved by 0.08": svg_change(rf"([ML])({NUMBER})( )({NUMBER})", svg_moved),
    "svg: an arc the other way": svg_change(r"( [01] )([01])( )", lambda m: f"{m[1]}{1 - int(m[2])}{m[3]}"),
    "svg: radius of an arc 10 % larger": svg_change(
        rf"A ?({NUMBER}) ({NUMBER})", lambda m: f"A{float(m[1]) * 1.1:.5f} {float(m[2]) * 1.1:.5f}"
    ),
    "svg: 1 % larger": svg_scaled(1.01),
    "svg: another width": svg_whole(r'width="(\d+)', r'width="1\1'),
    "svg: not mirrored up": svg_whole(r"matrix\(1 0 0 -1 ", "matrix(1 0 0 1 "),
    "svg: a line missing": svg_change(r".*", lambda _: ""),
    "svg: a line by another name": svg_change(r'id="', lambda _: 'id="x'),
    "svg: stock of another size": svg_whole(rf'(id="stock-outline" d="M){NUMBER}', r"\g<1>3.5"),
    "svg: torn off": lambda f, c: f.changed(
        (name := c.choice(f.card["set_ups"])["svg"]), f.files[name][: len(f.files[name]) // 2]
    ),
    "svg: a curve that nobody knows": svg_change(r"L", lambda _: "Q 1 1 "),
    "svg: two exchanged": exchanged(".svg"),
    "svg: missing": missing("svg"),
    # DXF
    "dxf: x of a point off by 0.06": dxf_change(10, lambda x: x + 0.06),
    "dxf: y of a point off by 0.06": dxf_change(20, lambda y: y - 0.06),
    "dxf: bulge the other way": dxf_change(42, lambda b: -b),
    "dxf: bulge half as large again": dxf_change(42, lambda b: 1.5 * b + 0.05),
    "dxf: stock of another size": dxf_change(10, lambda x: x + 2.0, stock=True),
    "dxf: a line missing": dxf_line_gone,
    "dxf: in inches": dxf_word(r"(\$INSUNITS\n\s*70\n\s*)4", r"\g<1>1"),
    "dxf: another layer": dxf_word(r"SET-UP-(\d)", r"SET-OFF-\1", everywhere=True),
    "dxf: torn off": lambda f, c: f.changed(
        (name := c.choice(f.card["set_ups"])["dxf"]), f.files[name][: len(f.files[name]) * 4 // 5]
    ),
    "dxf: two exchanged": exchanged(".dxf"),
    "dxf: missing": missing("dxf"),
    # the card: where parts go, what they go into, what cuts them
    "card: part moved by 0.05 along x": part(_pose(x=0.05)),
    "card: part moved by 0.05 along y": part(_pose(y=-0.05)),
    "card: part turned by half a degree": part(_pose(angle=0.5)),
    "card: part mirrored": part(lambda one: one["to_board"].update(mirrored=not one["to_board"]["mirrored"])),
    "card: parts exchanged": inlay(_parts_exchanged),
    "card: part without its line": part(_put(line="nowhere-1")),
    "card: seam said wider by 0.05": inlay(lambda one: _add("seam", 0.05)(one) if one["walls"] is None else False),
    "card: recess said 0.1 deeper": inlay(_add("depth", 0.1)),
    "card: inlay on the other face": inlay(lambda one: one.update(face={"show": "underside"}.get(one["face"], "show"))),
    "card: cutter 0.05 wider": by_cutter_width(
        cutter(lambda one: _add("diameter", 0.05)(one) if one["v"] is None else False)
    ),
    "card: cutter shorter than it cuts": cutter(_put(cutting_length=0.3)),
    "card: cutter marked slower": by_machine(cutter(_put(max_speed=500.0))),
    "card: line said 0.1 deeper": set_up(_line(_add("depth", 0.1))),
    "card: recess said to be a part": set_up(
        _line(lambda one: one.update(kind={"recess": "part"}.get(one["kind"], "recess")))
    ),
    "card: stock thinner than it is cut deep": set_up(_put(thickness=0.5)),
    "card: stock of another outline": set_up(lambda one: one["outline"].__setitem__(0, [7.0, 9.0])),
    "card: program not said": by_machine(set_up(lambda one: one["programs"].pop())),
    "card: depths of a program": by_machine(set_up(lambda one: one["programs"][0].update(depths=[0.7]))),
    "card: least wood left": card(_put(least_left=900.0), "wood are left", "wood is left"),
    "card: machine that travels less": by_machine(
        card(lambda one: one["machine"].update(travel=[9.0, 9.0, 9.0]), ".nc")
    ),
    "card: machine with a higher safe height": by_machine(
        card(lambda one: one["machine"].update(safe_height=55.0), ".nc")
    ),
    "card: cut before what it is let into": card(too_early, "set-up"),
    "card: fitting 0.2 off": fitting(lambda one: one["centre"].__setitem__(0, one["centre"][0] + 0.2)),
    "card: fitting 0.3 larger": fitting(lambda one: one["size"].__setitem__(0, one["size"][0] + 0.3)),
    "card: fitting 0.1 deeper": fitting(_add("depth", 0.1)),
    "card: a key too many": card(_put(colour="red"), "assembly"),
    "card: a key too few": inlay(_without("glue_room")),
    "card: another version": card(_put(version=1), "assembly"),
    "card: no card": lambda f, _: Damaged({k: v for k, v in f.files.items() if k != "assembly.json"}, ("assembly",)),
    "card: torn off": lambda f, _: f.changed("assembly.json", f.files["assembly.json"][:-900], "assembly"),
    # cutting by hand: passes, guides, templates
    "passes: a line without its last pass": steps(lambda its: its.pop() and None),
    "passes: last pass 0.05 off the line": steps(lambda its: _add("off_line", 0.05)(its[-1])),
    "passes: all 0.1 deeper": steps(lambda its: [_add("depth", 0.1)(one) for one in its]),
    "passes: all 0.5 less deep": steps(lambda its: [_add("depth", -0.5)(one) for one in its]),
    "passes: the other way about": steps(lambda its: its.reverse() if len(its) > 1 else False),
    "passes: of a cutter that is not there": steps(lambda its: [one.update(cutter=77) for one in its]),
    "passes: none": steps(lambda its: its.clear()),
    "guide: bush 0.05 wider": guide(lambda one: _add("outside", 0.05)(one["bush"])),
    "guide: template lies 0.05 aside": guide(lambda one: _add("x", 0.05)(one["to_set_up"])),
    "guide: template turned by half a degree": guide(lambda one: _add("angle", 0.5)(one["to_set_up"])),
    "guide: another template": guide(lambda one: one.update(template=one["template"] % 2 + 1)),
    "guide: template that is not there": guide(_put(template=77)),
    "template: pin 0.3 wider": template(_add("pin", 0.3)),
    "template: file by another name": template(_put(svg="nowhere.svg")),
    "template svg: a point moved by 0.08": svg_change(rf"([ML])({NUMBER})( )({NUMBER})", svg_moved, templates=True),
    "template svg: an arc the other way": svg_change(
        r"( [01] )([01])( )", lambda m: f"{m[1]}{1 - int(m[2])}{m[3]}", templates=True
    ),
    "template svg: 1 % larger": svg_scaled(1.01, templates=True),
    "template svg: a line missing": svg_change(r".*", lambda _: "", templates=True),
    "template dxf: x of a point off by 0.06": dxf_change(10, lambda x: x + 0.06, templates=True),
    "template dxf: bulge half as large again": dxf_change(42, lambda b: 1.5 * b + 0.05, templates=True),
    "template dxf: stock of another size": dxf_change(10, lambda x: x + 2.0, stock=True, templates=True),
    # holes that are drilled by hand
    "hole: as deep as the board": hole(lambda one, card: one.update(depth=card["board"]["thickness"], through=False)),
    "hole: into other hardware": hole(_into_other_hardware),
    "hole: said to be for other hardware": hole(lambda one, _: one.update(fitting="nowhere")),
    "hole: without depth": hole(lambda one, _: one.update(depth=0.0)),
    "hole: a key too few": hole(lambda one, _: one.pop("face")),
    # tabs, slices of a block, corners left to the chisel
    "tabs: one 2 mm aside": tab(lambda tabs, k: tabs[k].update(x=tabs[k]["x"] + 2.0, y=tabs[k]["y"] + 2.0)),
    "tabs: one 0.1 lower": tab(lambda tabs, k: _add("height", -0.1)(tabs[k])),
    "tabs: one 0.1 higher": tab(lambda tabs, k: _add("height", 0.1)(tabs[k])),
    "tabs: one half as wide again": tab(lambda tabs, k: tabs[k].update(width=1.5 * tabs[k]["width"])),
    "tabs: one not said": tab(lambda tabs, k: tabs.pop(k)),
    "block: a level of the saw 0.1 deeper": sawing(lambda one: one["levels"].append(one["levels"].pop() + 0.1)),
    "block: groove 0.1 wider": sawing(_add("groove", 0.1)),
    "block: planing 0.1 less": sawing(_add("planing", -0.1)),
    "block: slices 0.1 thicker": sawing(_add("thickness", 0.1)),
    "chisel: a corner not said": corner(lambda its: its.pop(0)),
    "chisel: a corner 3 mm aside": corner(lambda its: _add("x", 3.0)(its[0])),
    "chisel: a corner 2.4 mm further than it is": corner(lambda its: _add("reach", 2.4)(its[0])),
    "chisel: a corner as far as 7 mm": corner(lambda its: its[0].update(reach=7.0)),
    # tapered walls
    "tapered: V 0.06 deeper": v_deeper(0.06),
    "tapered: V 0.06 less deep": v_deeper(-0.06),
    "tapered: a trip of the V missing": v_program(v_trip_gone),
    "tapered: a place of the trail aside": v_program(v_place_aside),
    "tapered: another angle": cutter(_v(_add("half_angle", 1.5))),
    "tapered: another tip": cutter(_v(_add("tip_radius", 0.06))),
    "tapered: sinks less": inlay(_walls(_add("sink", -0.1))),
    "tapered: not as seen": part(lambda one: one["to_board"].update(mirrored=False) if one["plate"] else False),
    "tapered: a later recess and its inserts 4 mm aside": laid_over(-4.0),
    "tapered: a later recess and its inserts 0.8 mm aside": laid_over(-0.8),
    "tapered: said to be straight": inlay(lambda one: one.update(walls=None) if one["walls"] else False),
}
_MAY_CHANGE_NOTHING = (
    "dropped",
    "the other way",
    "moved off it",
    "a point",
    "aside",
    "arc 10 %",
    "bulge",
    "middle of an arc",
    "parts exchanged",
    "template turned",
)
_OF_THE_CARD = ("passes:", "guide: template lies", "tabs:", "chisel:")
MEASURED = {
    name for name in KINDS if any(words in name for words in _MAY_CHANGE_NOTHING) and not name.startswith(_OF_THE_CARD)
}
