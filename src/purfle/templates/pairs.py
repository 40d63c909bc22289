"""Guide bushes and the pairs of them that work: closed forms.

    B   outside diameter of the bush       D   diameter of the cutter       T   width of the template's opening
    f   of the recess (female)             m   of the insert (male)         g   seam on each side

The bush follows the inside of the opening, so the middle of the cutter stays B / 2 off it. A recess is what the cutter
takes away, an insert what stays inside its groove:

    recess   R = T - (Bf - Df)
    insert   P = T - (Bm + Dm)
    both from one template, R - P = 2 g:   Bf = Bm + Dm + Df - 2 g

Source: R and the pair with one cutter, Bf = Bm + 2 D, from the trade; the rest derived (docs/method/templates.md).
"""

from collections.abc import Iterator, Sequence

from purfle.errors import JobFileError
from purfle.model.shop import Cutter, GuideBush, Shop
from purfle.model.templates import BushPair, Guide, TemplateRule, TemplateWish
from purfle.tolerances import SAME_PLACE
from purfle.units import in_mm

WITH_COLLAR = "with collar"
"""Behind the name of a bush: with the ring on it."""
LOOSEST_PAIR = 0.25
"""A pair that leaves a wider seam on each side, mm, is none (common practice, no source)."""
PAIR_AGREES = 0.005
"""A pair whose seam differs by no more than this, mm, from the one asked for has that seam."""


def recess_width(opening: float, guide: Guide) -> float:
    """Width of the recess that a template of this width gives.

    >>> cutter = Cutter(1, "6 mm", 6.0, 2, 20.0, 30.0, 20000.0)
    >>> recess_width(86.2, Guide("16 mm", 16.0, 5.0, cutter))
    76.2
    """
    return opening - 2.0 * guide.offset


def insert_width(opening: float, guide: Guide) -> float:
    """Width of the insert that a template of this width gives."""
    return opening - 2.0 * guide.across


def corner_of_recess(corner: float, guide: Guide) -> float:
    """Radius of a recess's corner from that of the opening's, which has to be half the bush's diameter at least."""
    return corner - guide.offset


def corner_of_insert(corner: float, guide: Guide) -> float:
    """Radius of an insert's corner from that of the opening's; below 0: a sharp one."""
    return corner - guide.across


def bush_wanted(insert: Guide, recess_cutter: Cutter, seam: float) -> float:
    """Outside diameter of the recess's bush that makes a pair with this guide of the insert: Bm + Dm + Df - 2 g.

    >>> cutter = Cutter(1, "1/8 in", 3.175, 2, 12.0, 20.0, 24000.0)
    >>> round(bush_wanted(Guide("5/16 in", 7.9375, 5.0, cutter), cutter, 0.0) / 25.4, 6) == 9 / 16
    True
    """
    return insert.outside + insert.cutter.width + recess_cutter.width - 2.0 * seam


def guides_of(bushes: Sequence[GuideBush], cutter: Cutter) -> list[Guide]:
    """Every bush that lets a cutter through, without its collar and with it."""
    found = []
    for bush in bushes:
        if cutter.diameter < bush.inside:
            found.append(Guide(bush.name, bush.outside, bush.length, cutter))
            if bush.collar is not None:
                found.append(Guide(f"{bush.name} {WITH_COLLAR}", bush.collar, bush.length, cutter))
    return found


def pairs_of(guides: Sequence[Guide]) -> list[BushPair]:
    """Every pair of these guides that leaves a seam, the tightest first; of equal ones that of the finest insides."""
    pairs = [BushPair(recess, insert) for recess in guides for insert in guides]
    sound = [pair for pair in pairs if -SAME_PLACE <= pair.seam <= LOOSEST_PAIR]
    return sorted(sound, key=lambda pair: (round(pair.seam, 6), pair.insert.across, pair.recess.bush, pair.insert.bush))


def template_rule(wish: TemplateWish, shop: Shop, cutter: Cutter, seam: float) -> TemplateRule:
    """The pair to be used, of the maker's own bushes. `seam`: as asked for, where `wish.seam_asked`.

    One template serves both where a pair has the seam asked for, or where none is asked for; else recess and insert
    have templates of their own, with the narrowest bushes. Raises JobFileError where no bush or no pair will do.
    """
    every = guides_of(shop.guide_bushes, cutter)
    if not every:
        raise _no_bush(shop, cutter)
    recess, insert = _wished(wish.recess_bush, every, "recess_bush"), _wished(wish.insert_bush, every, "insert_bush")
    pairs = [pair for pair in pairs_of(every) if pair.recess in recess and pair.insert in insert]
    if not wish.seam_asked:
        if not pairs:
            raise _no_pair(recess, insert, _too_narrow(shop, cutter))
        pair, shared, left = pairs[0], True, _left(pairs[0])
    else:
        agreeing = [pair for pair in pairs if abs(pair.seam - seam) <= PAIR_AGREES]
        narrow = BushPair(min(recess, key=lambda one: one.outside), min(insert, key=lambda one: one.outside))
        pair, shared = (agreeing[0], True) if agreeing else (narrow, False)
        left = _left(pair) if shared else seam
    _refuse_thin(wish, pair)
    return TemplateRule(pair, shared, left, wish.thickness, wish.border, wish.pin, wish.pins_in_show_face)


def _left(pair: BushPair) -> float:
    """The seam of a pair, without what rounding of floats leaves of none."""
    return max(0.0, round(pair.seam, 6))


def _wished(name: str, guides: Sequence[Guide], key: str) -> list[Guide]:
    """The guide of this name; all of them where none is named."""
    if not name:
        return list(guides)
    wanted = "".join(name.split()).casefold()
    found = [one for one in guides if "".join(one.bush.split()).casefold() == wanted]
    if not found:
        width = guides[0].cutter.name
        names = ", ".join(one.bush for one in guides)
        what = f"no guide bush of the shop is called '{name}' and lets {width} through"
        raise JobFileError(what, f"templates.{key}", f"name one of these, or leave it out: {names}")
    return found


def _no_bush(shop: Shop, cutter: Cutter) -> JobFileError:
    if not shop.guide_bushes:
        mend = "add a [[guide_bush]] to the shop file: name, outside, inside, length"
        return JobFileError("there is no guide bush in the shop", "cutting.way", mend)
    what = f"no guide bush of the shop lets {cutter.name} through: it is {in_mm(cutter.diameter)} wide"
    return JobFileError(what, "fit.cutter", "name a thinner cutter, or add a wider bush to the shop file")


def _too_narrow(shop: Shop, cutter: Cutter) -> str:
    """The bushes that don't let a cutter through, in words; nothing where there are none."""
    narrow = [f"{one.name} ({in_mm(one.inside)} inside)" for one in shop.guide_bushes if cutter.diameter >= one.inside]
    return f"; it does not pass through {', '.join(narrow)}" if narrow else ""


def _no_pair(recess: Sequence[Guide], insert: Sequence[Guide], narrow: str) -> JobFileError:
    """What the nearest pair leaves, which bushes are too narrow, and which bush would make a pair."""
    nearest = min((BushPair(one, other) for one in recess for other in insert), key=lambda pair: abs(pair.seam))
    cutter, bush = nearest.recess.cutter, nearest.insert
    what = (
        f"no two guide bushes of the shop make a pair with {cutter.name}: {nearest.recess.bush} for the recess and "
        f"{bush.bush} for the insert leave {in_mm(nearest.seam)} on each side{narrow}"
    )
    wanted = bush_wanted(bush, cutter, 0.0)
    mend = (
        f"with {bush.bush} for the insert the recess wants a bush or collar of {in_mm(wanted)}; or name a thinner "
        "cutter; or give fit.seam, and recess and insert get templates of their own"
    )
    return JobFileError(what, "fit.seam", mend)


def _refuse_thin(wish: TemplateWish, pair: BushPair) -> None:
    """A bush must not reach through its template, or the router's base stands on the bush."""
    for guide in _both(pair):
        if guide.length >= wish.thickness:
            what = f"{guide.bush} stands out {in_mm(guide.length)}, the template is only {in_mm(wish.thickness)} thick"
            mend = "take thicker wood for the templates, or file the bush shorter"
            raise JobFileError(what, "templates.thickness", mend)


def _both(pair: BushPair) -> Iterator[Guide]:
    yield pair.recess
    yield pair.insert
