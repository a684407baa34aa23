"""Reads about people and the firm."""

from django.db.models import Case, QuerySet, Value, When
from django.http import Http404

from contractor.accounts.models import AuditEntry, Firm, Role, User


def the_firm() -> Firm:
    """The firm's settings; defaults, not saved, before anyone has set them."""
    return Firm.objects.filter(pk=1).first() or Firm(pk=1)


def active_people() -> QuerySet[User]:
    """Everyone who can sign in, fitters first: in a small firm anyone may be sent to a job."""
    fitter_first = Case(When(role=Role.FITTER, then=Value(0)), default=Value(1))
    return User.objects.filter(is_active=True).order_by(fitter_first, "first_name", "last_name", "username")


def all_people() -> QuerySet[User]:
    """Everyone, those who can still sign in first."""
    return User.objects.order_by("-is_active", "first_name", "last_name", "username")


def person_for(person_id: int) -> User:
    """The person of that id; Http404 where there is none."""
    try:
        return User.objects.get(pk=person_id)
    except User.DoesNotExist:
        raise Http404("There is no such person.") from None


def the_record() -> QuerySet[AuditEntry]:
    """The record, latest first, with who did it."""
    return AuditEntry.objects.select_related("user")
