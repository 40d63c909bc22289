"""Tabs on the assembly card: bridges that hold a part in its stock until they are cut by hand."""

from dataclasses import dataclass

from purfle.proof.shelf import Shelf


@dataclass(frozen=True, slots=True)
class TabOnCard:
    """A bridge between a part and the wood around it: `place`, the middle of its foot on the wall, in the set-up frame.

    `outwards`: where it leads from there, degrees. `width` at its narrowest, `length` of its foot along the wall,
    `height` above the underside.
    """

    place: tuple[float, float]
    outwards: float
    width: float
    length: float
    height: float


def read_tab(shelf: Shelf) -> TabOnCard:
    """One tab as written."""
    tab = TabOnCard(
        (shelf.number("x"), shelf.number("y")),
        shelf.number("outwards"),
        shelf.number("width", above=0.0),
        shelf.number("length", above=0.0),
        shelf.number("height", above=0.0),
    )
    shelf.nothing_else()
    return tab


def tabs_references(tabs: tuple[TabOnCard, ...], stands: tuple[str, float], top: Shelf, key: str) -> None:
    """Parts alone have tabs, lower than the stock is thick, each no longer at its foot than its groove lets it be."""
    kind, thickness = stands
    if tabs and kind != "part":
        top.fault(key, "a recess has no tabs")
    for index, tab in enumerate(tabs):
        if tab.height >= thickness:
            top.fault(
                f"{key}[{index}].height", f"a tab {tab.height} mm high is no lower than the stock, {thickness} mm"
            )
        if tab.length < tab.width:
            top.fault(f"{key}[{index}].length", "a tab is narrowest at its middle, not at its foot")
