"""Files of a folder changed so that they agree with each other: a recess and its inserts, all moved aside."""

import json
import re

NUMBER = r"-?\d+(?:\.\d+)?"
Files = dict[str, bytes]


def later_aside(files: Files, by: float) -> Files | None:
    """What is let in last with tapered walls, moved along x (mm) in all its files and on the card; None without one."""
    card = json.loads(files["assembly.json"])
    late = [one for one in card["inlays"] if one["into"] and one["walls"]]
    if not late:
        return None
    set_up = next(one for one in card["set_ups"] if one["number"] == late[-1]["recess"]["set_up"])
    for part in late[-1]["parts"]:
        part["to_board"]["x"] += by
    changed = {**files, "assembly.json": json.dumps(card).encode()}
    for name, move in (
        (set_up["svg"], _svg),
        (set_up["dxf"], _dxf),
        *((p["file"], _program) for p in set_up["programs"]),
    ):
        changed[name] = move(files[name].decode(), by).encode()
    return changed


def _program(text: str, by: float) -> str:
    by = by / 25.4 if " G20 " in text else by
    return re.sub(
        r"(?m)^(G[0-3] .*|X.*)$",
        lambda line: re.sub(rf"X({NUMBER})", lambda x: f"X{float(x[1]) + by:.4f}", line[0]),
        text,
    )


def _svg(text: str, by: float) -> str:
    def path(found: re.Match[str]) -> str:
        moved = re.sub(rf"([ML])({NUMBER})", lambda one: f"{one[1]}{float(one[2]) + by:.6f}", found[2])
        arc = rf"(A{NUMBER} {NUMBER} \S+ [01] [01] )({NUMBER})"
        return found[1] + re.sub(arc, lambda one: f"{one[1]}{float(one[2]) + by:.6f}", moved)

    return re.sub(r'(<path id="(?!stock)[^"]*" d=")([^"]*)', path, text)


def _dxf(text: str, by: float) -> str:
    lines, polyline, stock = text.split("\n"), False, False
    for at in range(0, len(lines) - 1, 2):
        code, value = lines[at].strip(), lines[at + 1].strip()
        if code == "0":
            polyline, stock = value == "LWPOLYLINE", False
        stock = stock or (code, value) == ("8", "STOCK")
        if polyline and not stock and code == "10":
            lines[at + 1] = f"{float(value) + by:.9f}"
    return "\n".join(lines)
