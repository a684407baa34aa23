"""What the office should look at before it sends: nothing here stops a quote, all of it stands on the page."""

from django.urls import reverse

from contractor.accounts.models import Firm
from contractor.jobs.cautions import reasons_for
from contractor.jobs.models import Gate, Job
from contractor.jobs.selectors import gates_of
from contractor.quotes.by_hand import has_moved, plain
from contractor.quotes.options import Option
from contractor.quotes.prices import SECTIONS
from contractor.rooms.gaps import Gap
from contractor.rooms.rule_notes import must_not_be_built, set_aside
from contractor.rooms.selectors import job_gaps

ASKED_FOR = ("by_others", "finishing", "waste", "testing")


def gaps_of(job: Job, firm: Firm, options: list[Option]) -> list[Gap]:
    """Sentences, the weightiest first, each with the page that mends it."""
    schemes = reverse("rooms:schemes", args=[job.number])
    line_new = reverse("quotes:line-new", args=[job.number])
    firm_page = reverse("accounts:firm")
    gaps = []
    for option in options:
        takeoff = reverse("rooms:takeoff", args=[option.scheme.pk])
        gaps += [Gap(f"{option.scheme.name}. {problem}", takeoff) for problem in option.priced.problems]
        gaps += must_not_be_built(option.scheme, option.calculation.takeoff)
        gaps += _set_by_hand(job, option)
        if not option.priced.lines:
            text = f"{option.scheme.name}. Nothing to price yet: choose a treatment for at least one surface."
            gaps.append(Gap(text, schemes))
    if options:
        filled = {section.key for option in options for section in option.priced.sections}
        empty = [SECTIONS[key].lower() for key in ASKED_FOR if key not in filled]
        if empty:
            text = f"No line for {', '.join(empty)}. Add one, or say in the exclusions that it is not included."
            gaps.append(Gap(text, line_new))
    gaps += job_gaps(job)
    gaps += set_aside(job)
    gaps += _cautions(job)
    if not job.property.customer.email:
        mend = reverse("customers:edit", args=[job.property.customer_id])
        gaps.append(Gap("No e-mail address for the customer: you will have to give them the link yourself.", mend))
    if firm.vat_percent and not firm.vat_number:
        gaps.append(
            Gap("VAT is added but the firm has no VAT number. Only a registered firm may charge VAT.", firm_page)
        )
    if not firm.address:
        gaps.append(Gap("The firm has no address, which a quote must show.", firm_page))
    if not firm.terms or not firm.exclusions:
        text = "The firm has no terms or no exclusions yet. Write them, and have them checked where you trade."
        gaps.append(Gap(text, firm_page))
    return gaps


def _set_by_hand(job: Job, option: Option) -> list[Gap]:
    """Overrides that no longer do what they were made for."""
    page = reverse("quotes:quote", args=[job.number]) + f"#option-{option.scheme.pk}"
    gone = [f"The line is gone that was set by hand: {override.line_name}" for override in option.priced.astray]
    moved = [
        f"{line.description}, {line.where or 'set by hand'}: worked out otherwise since it was set by hand, "
        f"{plain(line.override.was_quantity)} at £{line.override.was_unit_price:,} then, "
        f"{plain(line.before.quantity)} at £{line.before.unit_price:,} now. Look whether it still holds."
        for line in option.priced.lines
        if has_moved(line)
    ]
    return [Gap(f"{option.scheme.name}. {text}", page) for text in gone + moved]


def _cautions(job: Job) -> list[Gap]:
    """What is said not to be needed though the survey or the home says it is. What is open is told where it stops
    something: at booking the work."""
    waived = [gate for gate in gates_of(job) if gate.need == Gate.Need.NOT_NEEDED]
    reasons = reasons_for(job) if waived else {}
    return [
        Gap(
            f"{gate.get_kind_display()} is written down as not needed, yet: {reasons[gate.kind][0]}",
            reverse("jobs:gate", args=[job.number, gate.kind]),
        )
        for gate in waived
        if reasons.get(gate.kind)
    ]
