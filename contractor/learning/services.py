"""What turns learning from sound tests on and off, and follows them."""

from decimal import Decimal

from django.db import transaction

from contractor.accounts.models import Firm, User
from contractor.accounts.selectors import the_firm
from contractor.accounts.services import firm_update, record
from contractor.learning.differences import rule_of
from contractor.learning.selectors import cases


@transaction.atomic
def learning_switch(*, on: bool, by: User) -> Firm:
    """On: the firm's tests set the factor from now on. Off: predictions state the model's own uncertainty."""
    factor = rule_of(cases()[0]).factor if on else Decimal("1.00")
    return firm_update(by=by, learns_uncertainty=on, uncertainty_factor=factor)


@transaction.atomic
def factor_follow() -> None:
    """Set the factor anew from the tests, where that is switched on and it has changed."""
    if not the_firm().learns_uncertainty:
        return
    factor = rule_of(cases()[0]).factor
    firm = Firm.objects.select_for_update().get(pk=1)
    if firm.learns_uncertainty and firm.uncertainty_factor != factor:
        was, firm.uncertainty_factor = firm.uncertainty_factor, factor
        firm.save(update_fields=["uncertainty_factor"])
        record(user=None, action="Uncertainty set by tests", subject=firm, uncertainty_factor=[str(was), str(factor)])
