"""Puts a job's e-mails on pages of the floors below and above."""

from django import template

from contractor.jobs.models import Job
from contractor.mail.selectors import mails_shown

register = template.Library()


@register.inclusion_tag("mail/_mails.html", takes_context=True)
def mails_of(context, job: Job) -> dict:
    """The job's e-mails with their state. One query."""
    return mails_shown(job) | {"csrf_token": context.get("csrf_token")}
