"""System checks that name what the machine lacks before a user runs into it."""

from django.core.checks import Warning as CheckWarning
from django.core.checks import register

from contractor.common.pdf import PDF_PACKAGES, pdf_problem


@register()
def pdf_libraries(app_configs, **kwargs):
    problem = pdf_problem()
    if problem is None:
        return []
    return [
        CheckWarning(
            f"PDFs cannot be made: {problem}",
            hint=f"Install the Debian packages: apt-get install {' '.join(PDF_PACKAGES)}",
            id="common.W001",
        )
    ]
