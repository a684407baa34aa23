"""Why a rate of VAT applies that is not the firm's own, and what proves it."""

from django.db import models

from contractor.common.files import under


class VatReason(models.TextChoices):
    """Why a rate of VAT applies. Outline, common practice: the firm confirms each with the tax office or its adviser."""

    STANDARD = "standard", "The standard rate"
    EMPTY_TWO_YEARS = "empty_two_years", "Home not lived in for two years before the start"
    DWELLINGS_CHANGED = "dwellings_changed", "The number of dwellings changes"
    ADAPTATION = "adaptation", "Adaptation for a disabled person"
    NEW_DWELLING = "new_dwelling", "New dwelling"
    OUTSIDE = "outside", "Outside the scope of VAT"
    OTHER = "other", "Another reason, told in the evidence"


_paper_path = under("vat")


def vat_paper_path(row: "VatEvidence", name: str) -> str:
    return _paper_path(name)


class VatEvidence(models.Model):
    """Why a rate of VAT applies that is not the firm's own, and what proves it: words, a paper, or both."""

    vat_reason = models.CharField("Why this rate", max_length=20, choices=VatReason.choices, default=VatReason.STANDARD)
    vat_evidence = models.CharField("Evidence kept", max_length=300, blank=True)
    vat_paper = models.FileField(upload_to=vat_paper_path, blank=True)
    vat_paper_name = models.CharField(max_length=80, blank=True)

    class Meta:
        abstract = True

    @property
    def vat_why(self) -> str:
        """Why the rate is not the standard one, as the customer may read it; the evidence stays inside."""
        told = self.vat_reason not in (VatReason.STANDARD, VatReason.OTHER)
        return self.get_vat_reason_display() if told else ""

    @property
    def vat_note(self) -> str:
        """The reason and its evidence in a sentence; nothing for the standard rate, which needs none."""
        if self.vat_reason == VatReason.STANDARD:
            return ""
        paper = f"Paper kept: {self.vat_paper_name}" if self.vat_paper else ""
        return ". ".join(filter(None, [self.get_vat_reason_display(), self.vat_evidence.rstrip("."), paper]))
