"""Signing in: who gets where, and what happens after too many wrong passwords."""

import pytest
from django.urls import reverse

from contractor.accounts.models import Role
from tests.factories import UserFactory

PASSWORD = "long-enough-for-tests"
SIGN_IN = "/sign-in/"

pytestmark = pytest.mark.django_db


def sign_in(client, person, password=PASSWORD, address="192.0.2.1", **more):
    return client.post(SIGN_IN, {"username": person.username, "password": password, **more}, REMOTE_ADDR=address)


@pytest.mark.parametrize(
    ("role", "place"), [(Role.OWNER, "jobs:list"), (Role.OFFICE, "jobs:list"), (Role.FITTER, "fitting:today")]
)
def test_each_role_lands_on_its_own_page(client, role, place):
    assert sign_in(client, UserFactory(role=role)).url == "/"
    assert client.get("/").url == reverse(place)


def test_after_signing_in_the_page_asked_for_opens(client):
    asked = client.get(reverse("customers:list")).url
    assert asked == f"{SIGN_IN}?next=/customers/"
    assert 'name="next" value="/customers/"' in client.get(asked).content.decode()
    assert sign_in(client, UserFactory(), next="/customers/").url == "/customers/"


def test_an_address_elsewhere_is_not_followed(client):
    assert sign_in(client, UserFactory(), next="https://example.org/").url == "/"


def test_a_wrong_password_is_said_and_the_name_is_kept(client):
    person = UserFactory()

    response = sign_in(client, person, "wrong")

    page = response.content.decode()
    assert response.status_code == 200
    assert "do not belong together" in page
    assert f'value="{person.username}"' in page


def test_six_wrong_passwords_shut_the_name_from_that_address_alone(client):
    person, other = UserFactory(), UserFactory()
    for _ in range(5):
        assert sign_in(client, person, "wrong").status_code == 200

    locked = sign_in(client, person, "wrong")

    assert locked.status_code == 429
    assert "quarter of an hour" in locked.content.decode()
    assert sign_in(client, person).status_code == 429  # the right password does not open it either
    assert sign_in(client, other).status_code == 302
    assert sign_in(client, person, address="192.0.2.2").status_code == 302


def test_a_closed_account_does_not_open(client):
    assert sign_in(client, UserFactory(is_active=False)).status_code == 200
    assert client.get("/").status_code == 302
    assert client.get("/").url.startswith(SIGN_IN)


def test_closing_an_account_ends_its_session(office, owner):
    office.user.is_active = False
    office.user.save()
    assert office.get(reverse("jobs:list")).url.startswith(SIGN_IN)


def test_signing_out_takes_a_post(office):
    assert office.get(reverse("accounts:sign-out")).status_code == 405
    office.post(reverse("accounts:sign-out"))
    assert office.get("/").url.startswith(SIGN_IN)


def test_the_health_page_is_plain_and_public(client):
    response = client.get(reverse("healthz"))
    assert (response.status_code, response.content) == (200, b"ok")
