"""A quote that was talked over: sent once, then with a line set by hand and a discount, and changed again since."""

from decimal import Decimal

from contractor.accounts.models import User
from contractor.jobs.models import Job
from contractor.quotes import services as quotes
from contractor.quotes.hand_services import discount_save, extra_line_save, override_set
from contractor.quotes.models import Discount, ExtraLine, Section
from contractor.quotes.options import options_of


def sent_again(job: Job, office: User) -> quotes.Sent:
    """The second sending, at the price they talked over."""
    option = options_of(job)[0]
    line = max((line for line in option.priced.lines if line.section == Section.LININGS), key=lambda line: line.net)
    override_set(
        scheme=option.scheme,
        line=line,
        quantity=None,
        unit_price=(line.unit_price * Decimal("0.95")).quantize(Decimal(1)),
        reason="The household takes the old ceiling down to the joists itself",
        user=office,
    )
    reason = "Work in the quiet week after the holidays"
    discount_save(discount=Discount(job=job, percent=Decimal(4), reason=reason), user=office)
    return quotes.send(job=job, user=office, valid_days=30, leave_out_unpriced=True)


def changed_since(job: Job, office: User) -> None:
    """A line that the office added after the quote went out, for the customer to be told of."""
    line = ExtraLine(
        job=job,
        section=Section.BY_OTHERS,
        description="Ceiling lamp taken down and put up again",
        unit_price=Decimal(95),
    )
    extra_line_save(line=line, user=office)
