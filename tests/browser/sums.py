"""What the invoice of the walk must come to, by Python's decimal and not by the program's own arithmetic."""

from decimal import ROUND_HALF_UP, Decimal

CENT = Decimal("0.01")
PRICE, DEPOSIT = Decimal("5.25"), Decimal("150.00")
LEFT, RIGHT = Decimal("82.50"), Decimal("80.00")
# Billed by the farm, for a whole head; and paid by the customer at the plant, for each pound that hung.
KILL_FEE, CUT_AND_WRAP = Decimal("95.00"), Decimal("0.85")


def cents(amount: Decimal) -> Decimal:
    """To the cent, half away from zero."""
    return amount.quantize(CENT, ROUND_HALF_UP)


SHARE = cents(LEFT * PRICE)
KILL_PART = cents(KILL_FEE / 2)
FARM_TOTAL = SHARE + KILL_PART
BALANCE = FARM_TOTAL - DEPOSIT
PLANT_TOTAL = cents(LEFT * CUT_AND_WRAP)
ALL_IN = FARM_TOTAL + PLANT_TOTAL
ALL_IN_PER_LB = cents(ALL_IN / LEFT)

assert SHARE == Decimal("433.13"), "the walk's own example"
