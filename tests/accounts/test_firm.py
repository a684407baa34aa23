"""The firm's settings and the record of changes."""

from decimal import Decimal

from django.urls import reverse

from contractor.accounts.models import AuditEntry, Firm
from contractor.accounts.selectors import the_firm
from contractor.accounts.services import record, take_job_number

FIRM = {
    "name": "Alder and Rush",
    "address": "2 Weir Yard",
    "phone": "01632 960100",
    "email": "office@example.com",
    "company_number": "",
    "vat_number": "",
    "insurance_note": "",
    "materials_markup_percent": "12.5",
    "overhead_profit_percent": "20",
    "preliminaries_percent": "8",
    "vat_percent": "20",
    "deposit_percent": "25",
    "quote_valid_days": "30",
    "crew_size": "2",
    "day_hours": "7.5",
    "exclusions": "Decorating",
    "terms": "",
    "guarantee": "",
}


def test_the_owner_sets_the_firm_up(owner):
    assert owner.post(reverse("accounts:firm"), FIRM).status_code == 302
    firm = the_firm()
    assert firm.name == "Alder and Rush"
    assert firm.materials_markup_percent == Decimal("12.5")
    changes = AuditEntry.objects.get(action="Firm settings changed").detail
    assert changes["name"] == ["Your firm", "Alder and Rush"]
    assert "vat_percent" not in changes  # it stayed as it was


def test_saving_settings_leaves_job_numbers_alone(owner):
    assert [take_job_number(), take_job_number()] == [1, 2]
    owner.post(reverse("accounts:firm"), FIRM)
    assert take_job_number() == 3


def test_a_percentage_over_a_hundred_is_refused_beside_its_field(owner):
    response = owner.post(reverse("accounts:firm"), FIRM | {"vat_percent": "120", "name": "Kept"})
    page = response.content.decode()
    assert response.status_code == 200
    assert "less than or equal to 100" in page
    assert 'value="Kept"' in page and 'value="120"' in page
    assert not Firm.objects.filter(name="Kept").exists()


def test_the_office_reads_and_may_not_write(office):
    assert "Set by the owner" in office.get(reverse("accounts:firm")).content.decode()
    assert office.post(reverse("accounts:firm"), FIRM).status_code == 403
    assert the_firm().name == "Your firm"


# Session, user, count of entries, entries with their people.
RECORD_QUERIES = 4


def test_the_record_shows_who_changed_what_at_a_fixed_cost(owner, count_queries):
    record(user=owner.user, action="Stage changed", subject="Job 1", stage=["Enquiry", "Surveyed"])
    one = count_queries(owner, reverse("accounts:record"))
    for n in range(3):
        record(user=owner.user, action="Job opened", subject=f"Job {n}")
    assert one == count_queries(owner, reverse("accounts:record")) == RECORD_QUERIES
    page = owner.get(reverse("accounts:record")).content.decode()
    assert "Stage: Enquiry → Surveyed" in page


def test_an_empty_record_says_what_belongs_there(owner):
    assert "Nothing has been changed yet" in owner.get(reverse("accounts:record")).content.decode()
