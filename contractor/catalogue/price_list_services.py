"""What takes a supplier's price list over into the catalogue."""

from collections.abc import Iterable, Mapping

from django.db import transaction

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.catalogue.models import Material, PriceList, Supplier
from contractor.catalogue.price_lists import Change, Columns, compare, read_list, ticked
from contractor.catalogue.selectors import priced_at
from contractor.catalogue.services import prices_set


@transaction.atomic
def price_list_keep(*, supplier: Supplier, name: str, text: str, by: User) -> PriceList:
    """Keep the text of a list until another is read for the supplier."""
    PriceList.objects.filter(supplier=supplier).delete()
    return PriceList.objects.create(supplier=supplier, name=name[:120], text=text, created_by=by)


@transaction.atomic
def codes_set(*, price_list: PriceList, codes: Mapping[Material, str], by: User) -> None:
    """Keep article numbers with materials, so that this list and later ones find them."""
    for material, code in codes.items():
        material.supplier_code = code[:40]
        material.save(update_fields=["supplier_code"])
    if codes:
        detail = {material.key: material.supplier_code for material in codes}
        record(user=by, action="article numbers set", subject=price_list.supplier, codes=detail)


@transaction.atomic
def prices_take(
    *, price_list: PriceList, columns: Columns, keys: Iterable[str], by: User
) -> tuple[list[Change], list[Change]]:
    """Take over the ticked changes (`Change.key`), and date today what the list confirms. Returns what was taken, and
    what was not since somebody set another price meanwhile."""
    materials = list(priced_at(price_list.supplier).select_for_update(of=("self",)))
    found = compare(read_list(price_list.text), columns, materials)
    taken, moved = ticked(found, keys)
    kept = taken + found.same
    for change in kept:
        change.material.supplier = price_list.supplier
        change.material.supplier_code = change.code or change.material.supplier_code
    Material.objects.bulk_update([change.material for change in kept], ["supplier", "supplier_code"])
    prices = {change.material: change.price for change in kept}
    record(user=by, action="price list taken over", subject=price_list, prices=len(taken), unchanged=len(found.same))
    prices_set(by=by, prices=prices, checked={change.material for change in found.same})
    return taken, moved
