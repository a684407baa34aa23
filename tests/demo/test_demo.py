"""The invented firm: it loads, shows every stage, and every option of it is taken off and priced."""

import pytest
from django.core.management import CommandError, call_command

from contractor.accounts.models import User
from contractor.catalogue.services import load_seed
from contractor.demo import scenario
from contractor.demo.build import build
from contractor.jobs.models import Job
from contractor.quotes.models import Revision
from contractor.rooms.models import Calculation


@pytest.mark.django_db
def test_the_demo_loads_full(client):
    load_seed()
    token = build()

    stages = {job.title: job.stage for job in Job.objects.all()}
    assert stages == {plan["title"]: plan["ends"] for plan in scenario.JOBS}
    assert [c.takeoff["problems"] for c in Calculation.objects.all() if c.takeoff["problems"]] == []
    assert all(float(o["total"]) > 500 for r in Revision.objects.all() for o in r.document["options"])
    assert client.get(f"/p/{token}/").status_code == 200
    assert not any(person.has_usable_password() and person.password for person in User.objects.all()), "none shipped"


@pytest.mark.django_db
def test_it_is_never_loaded_into_a_real_installation(settings):
    settings.DEMO = False
    with pytest.raises(CommandError, match="DEMO=1"):
        call_command("load_demo")
    assert not User.objects.exists()
