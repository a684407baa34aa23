"""What the completion pack's templates ask of its rows."""

from collections.abc import Iterable, Mapping

from django import template

register = template.Library()


@register.filter
def of_face(photos: Iterable[Mapping], face: int | None) -> list[Mapping]:
    """The photographs of one built face, counted from nothing; None for those of variations."""
    return [photo for photo in photos if photo.get("face") == face]
