"""What the demo's office keeps beside its jobs: days off, and a supplier's price list that waits. All invented."""

from datetime import timedelta
from decimal import Decimal

from django.utils import timezone

from contractor.accounts.models import User
from contractor.catalogue.models import Supplier
from contractor.catalogue.price_list_services import price_list_keep
from contractor.jobs.models import DayOff
from contractor.weeks.services import bank_holidays_add, day_off_save

LISTED = 12  # of what the supplier sells us
DEARER_PERCENT = (0, 4, -3, 6, 0, 38, 2, 5, 0, -8, 3, 4)


def days_off(people: dict[str, User]) -> None:
    """The bank holidays of this year and the next, and a fitter's leave after the work that is booked."""
    today = timezone.localdate()
    for year in (today.year, today.year + 1):
        bank_holidays_add(year=year, by=people["idris"])
    monday = today + timedelta(days=21 - today.weekday())
    leave = DayOff(person=people["beatriz"], first_day=monday, last_day=monday + timedelta(days=4), reason="Leave")
    day_off_save(day_off=leave, by=people["idris"])


def price_list(by: User) -> None:
    """A list of the first supplier, with article numbers for most of what is bought there and one row without price."""
    supplier = Supplier.objects.order_by("pk").first()
    materials = list(supplier.materials.exclude(price=None).order_by("name")[:LISTED])
    rows = ["Article no.;Description;Pack;Net price"]
    for n, (material, percent) in enumerate(zip(materials, DEARER_PERCENT, strict=False)):
        material.supplier_code = f"HM-{2040 + 5 * n}"
        if n != 3:  # one is left to be found by its name
            material.save(update_fields=["supplier_code"])
        price = f"{material.price * (100 + percent) / Decimal(100):.2f}" if n != 8 else "on request"
        rows.append(f"{material.supplier_code};{material.name};{material.pack_unit};{price}")
    rows += [f"HM-{3000 + n};Sundry {n};each;{n + 1}.50" for n in range(40)]
    price_list_keep(supplier=supplier, name="Winter prices.csv", text="\n".join(rows), by=by)
