"""What the head of a letter needs."""

from django import template
from django.urls import reverse

register = template.Library()


@register.simple_tag
def firm_logo_url(name: str) -> str:
    """The address of a logo, by the name that its file has among the media."""
    return reverse("accounts:logo", args=[name.removeprefix("logo/").removesuffix(".png")])
