"""The firm as it stands at the head of a paper."""

from contractor.accounts.models import Firm

FIELDS = ("name", "address", "phone", "email", "company_number", "vat_number", "insurance_note")


def letterhead(firm: Firm) -> dict:
    """What a frozen document keeps of the firm. The logo is named by its content, so a paper shows the mark it was sent
    with."""
    logo = {"file": firm.logo, "width_px": firm.logo_width_px, "height_px": firm.logo_height_px}
    return {field: getattr(firm, field) for field in FIELDS} | {"logo": logo if firm.logo else None}
