"""The firm's people: adding, changing, one-time passwords, and always an owner."""

import re

import pytest
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from contractor.accounts import services
from contractor.accounts.models import AuditEntry, Role, User
from tests.factories import UserFactory

NEW = {"first_name": "Ada", "last_name": "Fell", "username": "ada", "role": "fitter", "email": "", "phone": ""}


def page(response) -> str:
    return response.content.decode()


def add_ada(owner) -> str:
    """Adds Ada through the page; returns the one-time password shown."""
    response = owner.post(reverse("accounts:person-new"), NEW)
    return re.search(r'<code id="password">([^<]+)</code>', page(response))[1]


def test_a_person_is_added_with_a_password_shown_once(owner):
    password = add_ada(owner)

    ada = User.objects.get(username="ada")
    assert ada.check_password(password)
    assert ada.password_is_one_time
    assert ada.role == Role.FITTER
    assert password not in page(owner.get(reverse("accounts:person", args=[ada.pk])))
    assert not AuditEntry.objects.filter(detail__icontains=password).exists()


def test_the_password_page_is_not_cached(owner):
    response = owner.post(reverse("accounts:person-new"), NEW)
    assert "no-store" in response["Cache-Control"]


def test_one_time_passwords_differ_and_are_long():
    passwords = {services.one_time_password() for _ in range(200)}
    assert len(passwords) == 200
    assert {len(p) for p in passwords} == {19}


def test_a_one_time_password_opens_only_the_page_to_change_it(owner):
    password = add_ada(owner)
    ada = Client()
    ada.post("/sign-in/", {"username": "ada", "password": password})

    assert ada.get("/").url == reverse("accounts:me")
    assert "Choose your own" in page(ada.get(reverse("accounts:me")))

    own = {"old_password": password, "new_password1": "heron-on-a-post-7", "new_password2": "heron-on-a-post-7"}
    assert ada.post(reverse("accounts:me"), own).url == reverse("home")  # on to the first page, not back here
    assert ada.get("/").url == reverse("fitting:today")  # still signed in, and let through
    assert User.objects.get(username="ada").check_password("heron-on-a-post-7")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"old_password": "not-it"}, "not your password now"),
        ({"new_password2": "heron-on-a-post-8"}, "match"),
        ({"new_password1": "short", "new_password2": "short"}, "too short"),
    ],
)
def test_a_bad_new_password_is_refused_beside_its_field(office, change, words):
    good = {
        "old_password": "long-enough-for-tests",
        "new_password1": "heron-on-a-post-7",
        "new_password2": "heron-on-a-post-7",
    }
    response = office.post(reverse("accounts:me"), good | change)
    assert response.status_code == 200
    assert words in page(response)
    office.user.refresh_from_db()
    assert office.user.check_password("long-enough-for-tests")


def test_own_details_are_saved_and_a_bad_one_is_kept_for_mending(office):
    details = {"first_name": "Nell", "last_name": "Brook", "email": "not-an-address", "phone": "01632 960001"}
    response = office.post(reverse("accounts:me"), details)
    assert response.status_code == 200
    assert 'value="not-an-address"' in page(response)

    office.post(reverse("accounts:me"), details | {"email": "nell@example.com"})
    office.user.refresh_from_db()
    assert (office.user.display_name, office.user.email) == ("Nell Brook", "nell@example.com")


def edit(owner, person, **change):
    values = {f: getattr(person, f) for f in ("first_name", "last_name", "username", "role", "email", "phone")}
    return owner.post(reverse("accounts:person", args=[person.pk]), values | {"is_active": "on"} | change)


def test_a_role_is_changed_and_stands_on_the_record(owner):
    person = UserFactory(role=Role.FITTER)
    assert edit(owner, person, role="office").status_code == 302
    person.refresh_from_db()
    assert person.role == Role.OFFICE
    assert AuditEntry.objects.get(action="Person changed").detail == {"role": ["fitter", "office"]}


def test_the_last_owner_keeps_the_role(owner):
    response = edit(owner, owner.user, role="office", phone="01632 960009")
    assert response.status_code == 200
    assert "The firm needs an owner" in page(response)
    assert 'value="01632 960009"' in page(response)
    owner.user.refresh_from_db()
    assert owner.user.role == Role.OWNER


def test_the_last_owner_is_not_closed(owner):
    with pytest.raises(ValidationError, match="needs an owner"):
        services.person_update(person=owner.user, by=owner.user, is_active=False)


def test_a_closed_owner_does_not_count(owner):
    UserFactory(role=Role.OWNER, is_active=False)
    with pytest.raises(ValidationError, match="needs an owner"):
        services.person_update(person=owner.user, by=owner.user, role=Role.OFFICE)


def test_one_of_two_owners_may_leave(owner):
    second = UserFactory(role=Role.OWNER)
    services.person_update(person=second, by=owner.user, is_active=False)
    second.refresh_from_db()
    assert not second.is_active


def test_a_sign_in_name_is_used_once(owner):
    UserFactory(username="ada")
    response = owner.post(reverse("accounts:person-new"), NEW)
    assert response.status_code == 200
    assert "already exists" in page(response)
    assert 'value="Fell"' in page(response)


def test_a_new_one_time_password_ends_the_old_one_and_the_sessions(owner, fitter):
    response = owner.post(reverse("accounts:person-password", args=[fitter.user.pk]))
    password = re.search(r'<code id="password">([^<]+)</code>', page(response))[1]
    fitter.user.refresh_from_db()
    assert fitter.user.check_password(password)
    assert fitter.get("/").url.startswith("/sign-in/")


# Session, user, and the people themselves.
PEOPLE_QUERIES = 3


def test_people_list_queries_do_not_grow(owner, count_queries):
    one = count_queries(owner, reverse("accounts:people"))
    UserFactory.create_batch(3)
    assert one == count_queries(owner, reverse("accounts:people")) == PEOPLE_QUERIES


def test_the_first_owner_is_added_from_the_command_line(db, capsys):
    call_command("add_owner", "ada")

    password = capsys.readouterr().out.rpartition(" ")[2].strip()
    person = User.objects.get(username="ada")
    assert person.role == Role.OWNER and person.check_password(password) and person.password_is_one_time
    with pytest.raises(CommandError, match="already exists"):
        call_command("add_owner", "ada")
