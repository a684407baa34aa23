"""What the office should look at before it sends: nothing here stops a quote, all of it stands on the page."""

from contractor.accounts.models import Firm
from contractor.jobs.models import Job
from contractor.quotes.options import Option
from contractor.quotes.prices import SECTIONS
from contractor.rooms.selectors import survey_gaps

ASKED_FOR = ("by_others", "finishing", "waste", "testing")


def gaps_of(job: Job, firm: Firm, options: list[Option]) -> list[str]:
    """Sentences, the weightiest first."""
    gaps = []
    for option in options:
        gaps += [f"{option.scheme.name}. {problem}" for problem in option.priced.problems]
        if not option.priced.lines:
            gaps.append(f"{option.scheme.name}. Nothing to price yet: choose a treatment for at least one surface.")
    if options:
        filled = {section.key for option in options for section in option.priced.sections}
        empty = [SECTIONS[key].lower() for key in ASKED_FOR if key not in filled]
        if empty:
            gaps.append(f"No line for {', '.join(empty)}. Add one, or say in the exclusions that it is not included.")
    gaps += survey_gaps(job)
    if not job.property.customer.email:
        gaps.append("No e-mail address for the customer: you will have to give them the link yourself.")
    if firm.vat_percent and not firm.vat_number:
        gaps.append("VAT is added but the firm has no VAT number. Only a registered firm may charge VAT.")
    if not firm.address:
        gaps.append("The firm has no address, which a quote must show.")
    if not firm.terms or not firm.exclusions:
        gaps.append("The firm has no terms or no exclusions yet. Write them, and have them checked where you trade.")
    return gaps
