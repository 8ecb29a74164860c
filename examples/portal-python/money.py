"""Amounts as people write them, from whole minor units, without a binary fraction anywhere."""

from decimal import Decimal

# ISO 4217: the currencies whose major unit is not a hundred minor ones.
_MINOR_DIGITS = {
    **dict.fromkeys("BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF".split(), 0),
    **dict.fromkeys("BHD IQD JOD KWD LYD OMR TND".split(), 3),
    **dict.fromkeys("CLF UYW".split(), 4),
}


def shown(money):
    """`2 125.00` for a `Money` of 212500 and EUR."""
    digits = _MINOR_DIGITS.get(money.currency_code, 2)
    return f"{Decimal(money.amount_minor).scaleb(-digits):,.{digits}f}".replace(",", " ")
