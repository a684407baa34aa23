"""Reads of all the firm's invoices: what each still stands open at, reckoned by the database."""

from decimal import Decimal

from django.db.models import Case, DecimalField, F, OuterRef, Q, QuerySet, Subquery, Sum, Value, When
from django.db.models.functions import Coalesce, Round
from django.utils import timezone

from contractor.billing.models import Invoice, Payment
from contractor.quotes.prices import NOTHING

_MONEY = DecimalField(max_digits=13, decimal_places=2)
_PAID = Coalesce(
    Subquery(
        Payment.objects.filter(invoice=OuterRef("pk"))
        .order_by()
        .values("invoice")
        .annotate(s=Sum("amount"))
        .values("s")
    ),
    Value(Decimal(0)),
    output_field=_MONEY,
)
_ASKED = Case(
    When(Q(kind=Invoice.Kind.CREDIT) | Q(credited_by__isnull=False), then=Value(Decimal(0))),
    default=F("total"),
    output_field=_MONEY,
)


def _standing() -> QuerySet[Invoice]:
    """With `still`, as selectors.open_of reckons it. Rounded, since SQLite adds money as binary fractions."""
    return Invoice.objects.annotate(still=Round(_ASKED - _PAID, 2, output_field=_MONEY))


def invoices_standing(show: str = "") -> QuerySet[Invoice]:
    """The newest first: all, or those "open", "overdue", or with something "over"."""
    today = timezone.localdate()
    found = _standing().select_related("job__property__customer", "credits", "credited_by")
    wanted = {"open": Q(still__gt=0), "overdue": Q(still__gt=0, due_on__lt=today), "over": Q(still__lt=0)}
    return found.filter(wanted.get(show, Q())).order_by("-number")


def sums_standing() -> dict[str, Decimal]:
    """What is open, what of it is overdue, and what is over, in one query."""
    today = timezone.localdate()
    sums = _standing().aggregate(
        open=Sum("still", filter=Q(still__gt=0)),
        overdue=Sum("still", filter=Q(still__gt=0, due_on__lt=today)),
        over=Sum("still", filter=Q(still__lt=0)),
    )
    return {name: sum or NOTHING for name, sum in sums.items()}
