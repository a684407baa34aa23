"""What changes the catalogue. Each change is one transaction and one line of the record."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Model, ProtectedError

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.catalogue.models import Material
from contractor.catalogue.seeding import DELETED, load_seed

__all__ = ["load_seed"]


def _delete(thing: Model, by: User) -> None:
    """Delete, and remember the key so that loading the shipped catalogue does not bring it back.

    Raises ValidationError, in plain words, where something still uses it.
    """
    model, key, subject = thing._meta.model_name, thing.key, str(thing)
    try:
        with transaction.atomic():
            thing.delete()
    except ProtectedError as error:
        raise ValidationError(f"{subject} is in use and stays.", code="in_use") from error
    record(user=by, action=DELETED, subject=subject, model=model, key=key)


@transaction.atomic
def material_delete(*, material: Material, by: User) -> None:
    """Raises ValidationError where a layer or fixing still uses it."""
    _delete(material, by)
