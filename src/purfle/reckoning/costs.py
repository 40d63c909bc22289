"""What the job costs, line by line: time, woods, wear of the cutters, glue, finish, hardware."""

from collections.abc import Sequence

from purfle.model.job import JobResult
from purfle.model.reckoning import Cost, CostKind, Measure, Work
from purfle.model.shop import Cutter, SawBlade, Shop
from purfle.money import in_coins
from purfle.reckoning.bench import glued_area
from purfle.reckoning.figures import range_of
from purfle.wood import known_as, practice, same_wood
from purfle.wood.finishes import spread_of

ML = 1000.0
"""mm3 in a millilitre."""


def costs_of(result: JobResult, work: Sequence[Work]) -> tuple[Cost, ...]:
    """Every line, in the order in which a sheet tells them."""
    lines = [*_time(result, work), *_woods(result), *_wear(result), *_glue(result), *_finish(result)]
    return (*lines, *_hardware(result))


def line(
    kind: CostKind, name: str, amounts: tuple[float, float], measure: Measure, price: tuple[float | None, str, str]
) -> Cost:
    """One line. `amounts`: of this piece, and of a second one; `price`: of one, the key it wants, and the currency."""
    each, missing, currency = price
    if each is None:
        return Cost(kind, name, amounts[0], measure, None, None, None, missing)
    cost, again = (in_coins(each * amount, currency) for amount in amounts)
    return Cost(kind, name, amounts[0], measure, each, cost, again)


def _time(result: JobResult, work: Sequence[Work]) -> list[Cost]:
    """The maker's own hours, the machine's beside them: whoever lets it run stands by it."""
    shop = result.shop
    all_of = (sum(one.minutes.typical for one in work), sum(one.again.typical for one in work))
    rate = (_a_minute(shop.hourly_rate), "hourly_rate = ... in shop.toml", shop.currency)
    lines = [line("time", "the maker's hours", all_of, "min", rate)]
    cuts = sum(one.minutes.typical for one in work if one.kind == "cutting")
    if cuts and result.job.cutting.way in ("machine", "guided router"):
        rate = (_a_minute(shop.machine_rate), "machine_rate = ... in shop.toml", shop.currency)
        lines.append(line("time", "the machine's hours", (cuts, cuts), "min", rate))
    return lines


def _a_minute(rate: float | None) -> float | None:
    return None if rate is None else rate / 60.0


def _woods(result: JobResult) -> list[Cost]:
    """The board by its volume, offcuts whole at the maker's value, and what has to be bought."""
    board, shop = result.layout.board, result.shop
    volume = board.outline.area * board.thickness
    lines = [_by_volume(shop, board.wood, f"the board, {board.wood}", volume)]
    for offcut in result.on_offcuts.used:
        price = (offcut.price, f"price = ... below [[offcut]] '{offcut.name}' in shop.toml", shop.currency)
        lines.append(line("wood", offcut.name, (1.0, 1.0), "whole", price))
    for wood, (length, width, thickness) in result.on_offcuts.boards_to_buy:
        wood = known_as(wood)
        lines.append(_by_volume(shop, wood, f"{wood}, to buy", length * width * thickness))
    return lines


def _by_volume(shop: Shop, wood: str, name: str, volume: float) -> Cost:
    prices = [one for one in shop.prices if one.measure == "mm3" and same_wood(one.of, wood)]
    each = prices[0].price / prices[0].amount if prices else None
    missing = f'[[price]] with of = "{wood}", price and for = "1 m3" in shop.toml'
    return line("wood", name, (volume, volume), "mm3", (each, missing, shop.currency))


def _wear(result: JobResult) -> list[Cost]:
    """Each cutter by the time that it cuts, out of the time that it lives."""
    minutes: dict[Cutter, float] = {}
    for set_up in result.cutting.set_ups:
        took_each = [(one.cutter, one.minutes) for one in set_up.programs]
        for cutter, took in [*took_each, *((one.cutter, one.minutes) for one in set_up.steps)]:
            minutes[cutter] = minutes.get(cutter, 0.0) + took
    lines = []
    for cutter, took in minutes.items():
        if isinstance(cutter, SawBlade):
            continue  # a fret saw's blade is thrown away by the dozen
        keys = [key for key, said in (("price", cutter.price), ("life_hours", cutter.life)) if said is None]
        missing = f"{' and '.join(keys)} below [[cutter]] '{cutter.name}' in shop.toml"
        each = None if cutter.price is None or cutter.life is None else cutter.price / (60.0 * cutter.life)
        lines.append(line("wear", cutter.name, (took, took), "min", (each, missing, result.shop.currency)))
    return lines


def _glue(result: JobResult) -> list[Cost]:
    area = glued_area(result)
    if not area:
        return []
    grams = area / 1e6 * range_of(practice("glue", "PVA spread")).typical
    each = None
    for price in result.shop.prices:
        if price.of.casefold() == "glue":
            heavy = range_of(practice("glue", "PVA density")).typical
            each = price.price / (price.amount if price.measure == "g" else price.amount / ML * heavy)
    missing = '[[price]] with of = "glue", price and for = "500 g" in shop.toml'
    return [line("glue", "glue", (grams, grams), "g", (each, missing, result.shop.currency))]


def _finish(result: JobResult) -> list[Cost]:
    finish, shop = result.job.finish, result.shop
    if finish.kind is None:
        missing = "kind and coats in [finish] of job.toml"
        return [Cost("finish", "finish", 0.0, "ml", None, None, None, missing)]
    if finish.kind == "none":
        return []
    litres = finish.coats * result.layout.board.surface / 1e6 / range_of(spread_of(finish.kind)).typical
    found = [one for one in shop.prices if one.of.casefold() == finish.kind and one.measure == "mm3"]
    each = found[0].price / (found[0].amount / ML) if found else None
    missing = f'[[price]] with of = "{finish.kind}", price and for = "1 l" in shop.toml'
    return [line("finish", finish.kind, (litres * 1000.0,) * 2, "ml", (each, missing, shop.currency))]


def _hardware(result: JobResult) -> list[Cost]:
    # a cable hole is nothing that is bought
    if not result.layout.fittings and not result.layout.bare_counts.keys() - {"cable hole"}:
        return []
    price = (result.job.quote.hardware, "hardware = ... in [quote] of job.toml", result.shop.currency)
    return [line("hardware", "all the hardware", (1.0, 1.0), "whole", price)]
