"""Reads about people and the firm."""

from django.db.models import Case, QuerySet, Value, When

from contractor.accounts.models import Firm, Role, User


def the_firm() -> Firm:
    """The firm's settings; defaults, not saved, before anyone has set them."""
    return Firm.objects.filter(pk=1).first() or Firm(pk=1)


def active_people() -> QuerySet[User]:
    """Everyone who can sign in, fitters first: in a small firm anyone may be sent to a job."""
    fitter_first = Case(When(role=Role.FITTER, then=Value(0)), default=Value(1))
    return User.objects.filter(is_active=True).order_by(fitter_first, "first_name", "last_name", "username")
