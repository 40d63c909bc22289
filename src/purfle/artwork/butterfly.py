"""The outline of a butterfly key, in mm, centred on the origin."""

from shapely import Polygon

from purfle.errors import DrawingError


def butterfly_key(length: float, end_width: float, waist_width: float) -> Polygon:
    """A butterfly key: a double dovetail, its length along x, widest at its two ends, centred on the origin.

    Its straight sides slope from `end_width` at either end to `waist_width` at the middle.

    >>> butterfly_key(60.0, 30.0, 14.0).area
    1320.0
    """
    sizes = {"length": length, "end width": end_width, "waist width": waist_width}
    if not all(0.0 < size < float("inf") for size in sizes.values()):
        shown = ", ".join(f"{name} {size:g} mm" for name, size in sizes.items())
        raise DrawingError("A butterfly key needs three sizes above zero.", shown, "Give all three sizes.")
    if waist_width >= end_width:
        raise DrawingError(
            "The waist of a butterfly key must be narrower than its ends, or it holds nothing.",
            f"end width {end_width:g} mm, waist width {waist_width:g} mm",
            "Make the waist about half as wide as the ends.",
        )
    reach, end, waist = length / 2.0, end_width / 2.0, waist_width / 2.0
    upper = [(reach, end), (0.0, waist), (-reach, end)]
    lower = [(-x, -y) for x, y in upper]
    return Polygon([(reach, -end), *upper, (-reach, -end), lower[1]])
