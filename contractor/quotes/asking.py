"""Questions about a proposal, from whoever holds its link, and the office's answers."""

from datetime import timedelta

from django.db import transaction
from django.utils import timezone

from contractor.accounts.models import User
from contractor.accounts.services import record
from contractor.jobs.models import Job
from contractor.quotes import mail
from contractor.quotes.models import ProposalLink, Question

AN_HOUR, A_DAY = timedelta(hours=1), timedelta(days=1)
MOST = ((AN_HOUR, 5), (A_DAY, 15))  # questions through one link: a household's worth, no more


class TooMany(Exception):
    """This link has asked as often as it may for now."""


class AlreadyAnswered(Exception):
    """Somebody else answered first; the customer has been told."""


@transaction.atomic
def question_ask(*, link: ProposalLink, name: str, text: str, address: str) -> Question:
    """Put a question into the job and e-mail it to the office. The same question twice is one. Raises TooMany."""
    job = Job.objects.select_for_update().get(pk=link.revision.job_id)  # two at once are counted one after the other
    asked = Question.objects.filter(link=link)
    same = asked.filter(text=text, answer="").first()
    if same:
        return same
    now = timezone.now()
    if any(asked.filter(asked_at__gt=now - span).count() >= most for span, most in MOST):
        raise TooMany
    question = Question.objects.create(revision=link.revision, link=link, name=name, text=text, address=address or None)
    record(user=None, action="Question by the customer", subject=link.revision)
    mail.post_question(question=question, job=job)
    return question


@transaction.atomic
def question_answer(*, question: Question, text: str, by: User) -> Question:
    """Answer once: the customer reads it in the proposal and by e-mail. Raises AlreadyAnswered."""
    now = timezone.now()
    unanswered = Question.objects.filter(pk=question.pk, answer="")
    if not unanswered.update(answer=text, answered_at=now, answered_by=by):
        raise AlreadyAnswered
    question.answer, question.answered_at, question.answered_by = text, now, by
    record(user=by, action="Question answered", subject=question.revision)
    mail.post_answer(question=question)
    return question
