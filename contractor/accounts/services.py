"""What changes people, the firm and the record."""

import secrets

from django.core.exceptions import ValidationError
from django.db import transaction

from contractor.accounts.models import AuditEntry, Firm, Role, User
from contractor.common.logos import Logo, keep_logo

# Letters and digits that are not mistaken for one another when read out or copied by hand.
CLEAR_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"


def record(*, user: User | None, action: str, subject: object, **detail) -> AuditEntry:
    """Write one line of the record. `detail` must be JSON-ready. Call it inside the change's transaction."""
    return AuditEntry.objects.create(user=user, action=action, subject=str(subject)[:200], detail=detail)


@transaction.atomic
def take_job_number() -> int:
    """The next job number; the row lock makes two offices take different ones."""
    firm = Firm.objects.select_for_update().get_or_create(pk=1)[0]
    number = firm.next_job_number
    firm.next_job_number = number + 1
    firm.save(update_fields=["next_job_number"])
    return number


@transaction.atomic
def firm_update(*, by: User, **values) -> Firm:
    """Set the firm's settings; the record keeps each changed value as it was and as it is."""
    firm = Firm.objects.select_for_update().get_or_create(pk=1)[0]
    changes = {k: [str(getattr(firm, k)), str(v)] for k, v in values.items() if getattr(firm, k) != v}
    for name, value in values.items():
        setattr(firm, name, value)
    firm.full_clean()
    firm.save()
    if changes:
        record(user=by, action="Firm settings changed", subject=firm, **changes)
    return firm


@transaction.atomic
def firm_logo_set(*, by: User, logo: Logo | None) -> Firm:
    """Put a mark on the firm's letters, or none. What was sent keeps the one it was sent with."""
    firm = Firm.objects.select_for_update().get_or_create(pk=1)[0]
    firm.logo = keep_logo(logo) if logo else ""
    firm.logo_width_px, firm.logo_height_px = (logo.width_px, logo.height_px) if logo else (0, 0)
    firm.save(update_fields=["logo", "logo_width_px", "logo_height_px"])
    record(user=by, action="Firm's logo changed" if logo else "Firm's logo taken off", subject=firm)
    return firm


def one_time_password() -> str:
    """Four groups of four from 31 letters and digits: about 79 bits."""
    return "-".join("".join(secrets.choice(CLEAR_LETTERS) for _ in range(4)) for _ in range(4))


@transaction.atomic
def person_add(*, by: User | None, **values) -> tuple[User, str]:
    """A new person and their one-time password, which is kept nowhere else than with whoever reads it now."""
    password = one_time_password()
    person = User(password_is_one_time=True, **values)
    person.set_password(password)
    person.full_clean()
    person.save()
    record(user=by, action="Person added", subject=person.display_name, role=person.role)
    return person, password


@transaction.atomic
def person_update(*, person: User, by: User, **values) -> User:
    """Change a person's details, role or whether they may sign in.

    ValidationError (field "role" or "is_active") where that would leave the firm without an owner.
    """
    owners = list(User.objects.select_for_update().filter(role=Role.OWNER, is_active=True))
    stays_owner = values.get("role", person.role) == Role.OWNER and values.get("is_active", person.is_active)
    if owners == [person] and not stays_owner:
        field = "role" if values.get("role", Role.OWNER) != Role.OWNER else "is_active"
        raise ValidationError(
            {field: "The firm needs an owner, and this is the only one. Make someone else owner first."}
        )
    before = User.objects.get(pk=person.pk)
    changes = {k: [str(getattr(before, k)), str(v)] for k, v in values.items() if getattr(before, k) != v}
    for name, value in values.items():
        setattr(person, name, value)
    person.full_clean()
    person.save()
    if changes:
        record(user=by, action="Person changed", subject=person.display_name, **changes)
    return person


@transaction.atomic
def person_new_password(*, person: User, by: User) -> str:
    """A fresh one-time password; the old one and every place where they are signed in end."""
    password = one_time_password()
    person.set_password(password)
    person.password_is_one_time = True
    person.save(update_fields=["password", "password_is_one_time"])
    record(user=by, action="One-time password given", subject=person.display_name)
    return password


@transaction.atomic
def own_password_changed(*, person: User, password: str) -> User:
    """Set the password that the person chose."""
    person.set_password(password)
    person.password_is_one_time = False
    person.save(update_fields=["password", "password_is_one_time"])
    record(user=person, action="Own password changed", subject=person.display_name)
    return person
