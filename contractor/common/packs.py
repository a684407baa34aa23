"""Packs of material in words: how many, and who lifts one."""

from decimal import Decimal

# Common practice for a lift in the open with a clear way; a bad back, a stair or a bad grip asks for more people.
ONE_PERSON_KG, TWO_PEOPLE_KG = Decimal(20), Decimal(40)

# A floor of a home is designed for at least 1.5 kN/m² of imposed load, about 150 kg/m² (EN 1991-1-1, table 6.2,
# category A; from memory). An old floor may bear less.
FLOOR_BEARS_KG_M2 = 150


def pack_words(row: dict) -> str:
    """How many of a material: "6 sheets", "1 pack of 12 slabs". `row` has packs, pack_unit and pack_quantity."""
    unit, quantity = row["pack_unit"], row["pack_quantity"]

    def some(number: int, word: str) -> str:
        return f"{number:,} {word}" if number == 1 or word == "m2" else f"{number:,} {word}s"

    if quantity == 1:
        return f"{row['packs']:,}" if unit == "each" else some(row["packs"], unit).replace("m2", "m²")
    return f"{some(row['packs'], 'pack')} of {some(quantity, unit) if unit != 'each' else quantity}"


def lift_words(mass_kg: Decimal) -> str:
    """Who lifts one piece of that mass."""
    if mass_kg < ONE_PERSON_KG:
        return "One person"
    if mass_kg <= TWO_PEOPLE_KG:
        return "Two people"
    return "Over 40 kg: a smaller sheet, or a trolley and a lift"
