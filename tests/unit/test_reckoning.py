"""Time and money: every line follows from the plan, the figures of the bench and the prices that the shop names."""

import math
from dataclasses import replace

import pytest

from purfle.errors import JobFileError, ShopFileError
from purfle.files.job_price import bench_of, finish_of, quote_of
from purfle.files.toml_table import read_toml
from purfle.model.job import JobResult
from purfle.model.reckoning import FinishWish, QuoteWish
from purfle.model.shop import Price
from purfle.money import in_coins, told
from purfle.reckoning import days_of, reckon
from purfle.sheets import quote
from purfle.sheets.papers import papers_of
from purfle.sheets.style import Style
from purfle.sheets.time_and_money import data
from purfle.shop.loading import read_shop
from sample import bare_result, tern_result

BARE = tern_result()


def whole(result: JobResult = BARE) -> JobResult:
    """The job with every price that it needs."""
    shop = result.shop
    prices = (
        Price(result.layout.board.wood, 3000.0, 1e9, "mm3"),
        Price("Glue", 10.0, 1e6, "mm3"),
        Price("shellac", 30.0, 1e6, "mm3"),
    )
    offcuts = tuple(replace(one, price=7.0) for one in result.on_offcuts.used)
    cutters = {one.number: replace(one, price=20.0, life=10.0) for one in shop.cutters}
    set_ups = tuple(
        replace(one, programs=tuple(replace(p, cutter=cutters[p.cutter.number]) for p in one.programs))
        for one in result.cutting.set_ups
    )
    rates = {"currency": "EUR", "hourly_rate": 48.0, "machine_rate": 6.0, "mark_up": 0.25}
    shop = replace(shop, offcuts=offcuts, prices=prices, **rates)  # type: ignore[arg-type]
    job = replace(result.job, finish=FinishWish("shellac", 3), quote=QuoteWish(hardware=12.0))
    placed = replace(result.on_offcuts, used=offcuts)
    plan = replace(result.cutting, set_ups=set_ups)
    result = replace(result, job=job, shop=shop, on_offcuts=placed, cutting=plan)
    return replace(result, reckoning=reckon(result))


WHOLE = whole()


def test_the_machines_minutes_are_those_of_the_plan_and_a_second_one_is_laid_in_only() -> None:
    reckoned, plan = reckon(WHOLE), WHOLE.cutting
    by_kind = {k: [one for one in reckoned.work if one.kind == k] for k in ("setting up", "cutting", "bench")}
    assert sum(one.minutes.typical for one in by_kind["setting up"]) == sum(s.set_up_minutes for s in plan.set_ups)
    assert sum(one.minutes.typical for one in by_kind["cutting"]) == pytest.approx(
        sum(s.cutting_minutes for s in plan.set_ups)
    )
    assert {one.again.typical for one in by_kind["setting up"]} == {3.0}
    assert [one.again for one in by_kind["bench"]] == [one.minutes for one in by_kind["bench"]]
    assert reckoned.minutes.low < reckoned.minutes.typical < reckoned.minutes.high


def test_work_at_the_bench_is_counted_from_what_there_is_to_do() -> None:
    """The same counts made here from the nouns: parts, corners, goes, areas; with the figures of practice.csv."""
    work = {one.name: one.minutes for one in reckon(WHOLE).work if one.kind == "bench"}
    inlays = WHOLE.layout.inlays
    parts = sum(len(inlay.fit.inserts) for inlay in inlays)
    goes = len({(inlay.order, inlay.face) for inlay in inlays})
    assert (work["dry fit"].low, work["dry fit"].high) == (0.5 * parts, 4.0 * parts)
    assert work["glueing"].typical == pytest.approx(0.7 * parts + 8.0 * goes)
    area = sum(inlay.fit.recess.area for inlay in inlays) / 1e4
    assert work["levelling"].high == pytest.approx(15.0 * goes + 8.0 * area)
    assert work["hardware"].typical == 2 * 12.0 + 2 * 4.0
    faces = len({inlay.face for inlay in inlays})
    assert work["sanding"].typical == pytest.approx(12.0 * 5 * faces * 0.42 * 0.26)
    surface = 2 * 0.42 * 0.26 + 2 * (0.42 + 0.26) * 0.019
    assert work["finishing"].typical == pytest.approx(3 * (10.0 * surface + 6.0))
    assert "cutting off tabs" not in work


def test_minutes_that_the_maker_names_take_the_place_of_the_figures() -> None:
    result = replace(WHOLE, job=replace(WHOLE.job, bench=(("levelling", 45.0), ("sawing off", 0.0))))
    work = {one.name: one for one in reckon(result).work}
    assert (work["levelling"].minutes.low, work["levelling"].minutes.high) == (45.0, 45.0)
    assert work["levelling"].source == "job.toml, [bench]"
    assert work["sawing off"].minutes.typical == 0.0


def test_waiting_stands_apart_from_working() -> None:
    """Each go waits an hour in the clamps and a day; three coats of shellac two hours each."""
    reckoned = reckon(WHOLE)
    goes = len({(inlay.order, inlay.face) for inlay in WHOLE.layout.inlays})
    assert reckoned.waiting_hours.typical == pytest.approx(goes * 25.0 + 3 * 2.0)
    assert not {one.name for one in reckoned.waiting} & {one.name for one in reckoned.work}
    assert reckoned.days == days_of(reckoned.minutes.typical / 60.0, reckoned.waiting_hours.typical)


def test_each_cost_is_amount_times_price_and_the_price_is_their_sum_with_mark_up() -> None:
    reckoned = reckon(WHOLE)
    costs = {(one.kind, one.name): one for one in reckoned.costs}
    hours = costs["time", "the maker's hours"]
    assert hours.cost == in_coins(reckoned.minutes.typical / 60.0 * 48.0, "EUR")
    cut = sum(s.cutting_minutes for s in WHOLE.cutting.set_ups)
    assert costs["time", "the machine's hours"].cost == in_coins(cut / 60.0 * 6.0, "EUR")
    assert costs["wood", "the board, white oak"].cost == in_coins(3000.0 * 0.42 * 0.26 * 0.019, "EUR")
    assert sum(one.cost or 0.0 for one in reckoned.costs if one.name.startswith("offcut")) == 7.0 * len(
        WHOLE.on_offcuts.used
    )
    floor = sum(inlay.fit.recess.area for inlay in WHOLE.layout.inlays) / 1e6
    assert costs["glue", "glue"].amount == pytest.approx(floor * 180.0)
    assert costs["glue", "glue"].each == pytest.approx(10.0 / 1100.0), "a litre weighs 1.1 kg"
    surface = 2 * 0.42 * 0.26 + 2 * (0.42 + 0.26) * 0.019
    assert costs["finish", "shellac"].amount == pytest.approx(3 * surface / 10.0 * 1000.0)
    wear = [one for one in reckoned.costs if one.kind == "wear"]
    assert sum(one.amount for one in wear) == pytest.approx(cut)
    assert all(one.cost == in_coins(one.amount / 60.0 / 10.0 * 20.0, "EUR") for one in wear)
    total = math.fsum(one.cost or 0.0 for one in reckoned.costs)
    assert reckoned.missing == ()
    assert reckoned.price == in_coins(total + in_coins(total * 0.25, "EUR"), "EUR")
    assert reckoned.second is not None
    assert reckoned.second < reckoned.price


def test_a_price_that_nobody_named_is_no_zero() -> None:
    """Without prices the keys to add are told, what is known is summed, and there is no price."""
    reckoned = reckon(BARE)
    assert reckoned.price is None
    assert reckoned.second is None
    assert {
        "machine_rate = ... in shop.toml",
        "mark_up = ... in shop.toml, in percent",
        '[[price]] with of = "white oak", price and for = "1 m3" in shop.toml',
        '[[price]] with of = "glue", price and for = "500 g" in shop.toml',
        "price = ... below [[offcut]] 'offcut 9' in shop.toml",
        "price and life_hours below [[cutter]] '1/8 in straight' in shop.toml",
        "hardware = ... in [quote] of job.toml",
        "kind and coats in [finish] of job.toml",
    } <= set(reckoned.missing)
    assert all((one.cost is None) == bool(one.missing) for one in reckoned.costs)
    named = replace(BARE, job=replace(BARE.job, quote=QuoteWish(price=480.0)))
    assert (reckon(named).price, reckon(named).own_price) == (480.0, True)
    assert "machine_rate = ... in shop.toml" in reckon(named).missing


def test_what_costs_nothing_is_said_to_cost_nothing() -> None:
    free = replace(WHOLE, shop=replace(WHOLE.shop, mark_up=0.0, machine_rate=0.0))
    reckoned = reckon(free)
    assert reckoned.missing == ()
    assert reckoned.price == pytest.approx(reckoned.known_cost)


def test_wood_to_buy_is_reckoned_by_its_volume() -> None:
    placed = replace(WHOLE.on_offcuts, boards_to_buy=(("padauk_african", (200.0, 100.0, 4.0)),))
    short = replace(WHOLE, on_offcuts=placed)
    (line,) = [one for one in reckon(short).costs if one.name.endswith("to buy")]
    assert (line.cost, line.amount) == (None, 80_000.0)
    assert 'of = "African padauk"' in line.missing
    dear = replace(short.shop, prices=(*short.shop.prices, Price("padauk", 9.0, 1e6, "mm3")))
    (line,) = [one for one in reckon(replace(short, shop=dear)).costs if one.name.endswith("to buy")]
    assert line.cost == 0.72


def test_a_job_without_set_ups_and_inlays_is_bench_work_alone() -> None:
    small = bare_result(300.0, 200.0)
    bare = replace(small, layout=replace(small.layout, inlays=()), cutting=replace(small.cutting, set_ups=()))
    reckoned = reckon(replace(bare, on_offcuts=replace(small.on_offcuts, used=(), places=())))
    assert [one.name for one in reckoned.work] == ["setting out"]
    assert (reckoned.waiting, reckoned.days) == ((), 1)


@pytest.mark.parametrize(
    ("amount", "currency", "words"),
    [
        (2.675, "EUR", "2.68 EUR"),
        (0.005, "USD", "0.01 USD"),
        (1e6, "JPY", "1 000 000 JPY"),
        (1.0005, "KWD", "1.001 KWD"),
    ],
)
def test_money_is_rounded_half_a_coin_up_and_told_with_its_currency(amount: float, currency: str, words: str) -> None:
    assert " ".join(told(amount, currency).split()) == words


def test_the_quote_tells_no_secret_of_the_shop() -> None:
    """No rate, mark-up, hour, cost or name of an offcut; what the price is, it says."""
    words = str({key: value for key, value in quote.data(WHOLE, Style("mm", "a4")).items() if key != "picture"})
    reckoned = reckon(WHOLE)
    assert reckoned.price is not None
    assert told(reckoned.price, "EUR") in words.replace("\\u202f", "\u202f").replace("\\xa0", "\xa0")
    secrets = ["48", "25 %", "mark-up", "rate", "hour", " min", "cost", *(one.name for one in WHOLE.shop.offcuts)]
    secrets += [f"{one.cost:.2f}" for one in reckoned.costs if one.cost is not None]
    assert [one for one in secrets if one in words] == []


def test_a_quote_without_a_price_leaves_a_line_to_write_on() -> None:
    page = quote.data(replace(BARE, reckoning=reckon(BARE)), Style("inch", "letter"))
    assert page["price"] == ""
    assert "Finish: to be agreed, and not in the price" in page["included"]


def test_the_shops_paper_has_every_line_and_every_key_to_add() -> None:
    result = replace(BARE, reckoning=reckon(BARE))
    time, money = data(result, Style("inch", "letter"))
    reckoned = reckon(BARE)
    assert len(money["tables"][0]["rows"]) == len(reckoned.costs) + 1
    assert all(key in str(money["warnings"]).replace('\\\\"', '"') or "'" in key for key in reckoned.missing)
    assert len(time["tables"][1]["rows"]) == 1 + sum(one.kind == "bench" for one in reckoned.work)


def test_papers_are_the_same_to_the_byte_and_a_job_not_reckoned_has_none() -> None:
    first = papers_of(WHOLE, "mm", "a4")
    assert [*first] == [f"{WHOLE.job.slug}-time-and-money.pdf", f"{WHOLE.job.slug}-quote.pdf"]
    assert papers_of(WHOLE, "mm", "a4") == first
    assert papers_of(BARE, "mm", "a4") == {}


SHOP = """
units = "mm"
currency = "EUR"
machine = "none"
mark_up = {mark_up}
[[saw]]
name = "fret saw"
groove = 0.4
[[price]]
of = "white oak"
price = {price}
for = {amount}
"""


def test_prices_are_read_in_any_measure() -> None:
    for words, mm3 in (
        ("1 m3", 1e9),
        ("25 board feet", 25 * 2359737.216),
        ("0,75 l", 750_000.0),
        ("1 quart", 946352.9),
    ):
        shop = read_shop(SHOP.format(mark_up=15, price=20, amount=f'"{words}"'))
        assert shop.prices == (Price("white oak", 20.0, pytest.approx(mm3), "mm3"),)
        assert shop.mark_up == 0.15


@pytest.mark.parametrize(
    ("mark_up", "price", "amount", "what", "mend"),
    [
        (15, 20, '"1 parsec"', "'1 parsec' is no amount that a price can be for", 'write for = "1 m3"'),
        (15, 20, '"0 m3"', "'0 m3' is no amount", "write for"),
        (15, 20, "3", "3 is no amount", "write for"),
        (15, -1, '"1 m3"', "-1 cannot be right", "give 0 to"),
        (-5, 20, '"1 m3"', "-5 cannot be right", "give 0 to 1000"),
    ],
)
def test_a_price_that_cannot_be_is_refused(mark_up: int, price: int, amount: str, what: str, mend: str) -> None:
    with pytest.raises(ShopFileError) as refusal:
        read_shop(SHOP.format(mark_up=mark_up, price=price, amount=amount))
    (fault,) = refusal.value.faults
    assert what in fault.what
    assert mend in fault.mend
    assert "shop.toml, line" in fault.where


@pytest.mark.parametrize(
    ("text", "what", "mend"),
    [
        ('[finish]\nkind = "varnich"\ncoats = 2', 'kind cannot be "varnich"', "Use varnish"),
        ('[finish]\nkind = "varnish"', "coats is missing in [finish]", "coats = 2"),
        ("[finish]\ncoats = 2", "kind is missing in [finish]", "kind ="),
        ('[finish]\nkind = "none"\ncoats = 2', 'coats stands beside kind = "none"', "Keep one"),
        ('[finish]\nkind = "shellac"\ncoats = 1.5', "coats cannot be 1.5", "whole number"),
        ("[quote]\nprice = -3", "price cannot be -3", "Use 0 to"),
        ("[bench]\nleveling = 30", "leveling is not known here", "Use levelling"),
    ],
)
def test_finish_quote_and_bench_are_read_strictly(text: str, what: str, mend: str) -> None:
    top = read_toml(text.encode(), "job.toml")
    finish_of(top), quote_of(top), bench_of(top)
    (fault,) = top.source.faults
    assert what in fault.what
    assert mend in fault.mend
    assert fault.where.startswith("job.toml, line")
    with pytest.raises(JobFileError):
        raise JobFileError.of(top.source.faults)
