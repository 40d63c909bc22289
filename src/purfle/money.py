"""Money as it is rounded and told: the only place that does either.

Every line of a reckoning is rounded to the smallest coin of its currency, half a coin up; a sum is the sum of its
rounded lines, so that a reader who adds the lines up finds the sum.
"""

from decimal import ROUND_HALF_UP, Decimal

NO_COINS = frozenset(
    (
        "BIF",
        "CLP",
        "DJF",
        "GNF",
        "ISK",
        "JPY",
        "KMF",
        "KRW",
        "PYG",
        "RWF",
        "UGX",
        "UYI",
        "VND",
        "VUV",
        "XAF",
        "XOF",
        "XPF",
    )
)
"""Currencies without a smaller coin. Source: ISO 4217, minor units, from memory."""
THOUSANDTHS = frozenset(["BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"])
"""Currencies whose coin is a thousandth. Source: ISO 4217, minor units, from memory."""
THIN_SPACE = "\N{NARROW NO-BREAK SPACE}"


def decimals(currency: str) -> int:
    """Decimals of a currency by its code or the maker's own word for it; two unless its code says otherwise.

    >>> decimals("EUR"), decimals("yen"), decimals("jpy")
    (2, 2, 0)
    """
    code = currency.strip().upper()
    return 0 if code in NO_COINS else 3 if code in THOUSANDTHS else 2


def in_coins(amount: float, currency: str) -> float:
    """An amount rounded to the smallest coin, half a coin up.

    >>> in_coins(2.675, "EUR"), in_coins(1234.5, "JPY")
    (2.68, 1235.0)
    """
    coin = Decimal(1).scaleb(-decimals(currency))
    return float(Decimal(repr(amount)).quantize(coin, ROUND_HALF_UP))


def told(amount: float, currency: str) -> str:
    """An amount with its currency after it, thousands apart; never broken over two lines.

    >>> told(1234.5, "EUR").replace(THIN_SPACE, " "), told(0.4, "")
    ('1 234.50\\xa0EUR', '0.40')
    """
    figures = f"{in_coins(amount, currency):,.{decimals(currency)}f}".replace(",", THIN_SPACE)
    return f"{figures}\N{NO-BREAK SPACE}{currency}" if currency else figures
