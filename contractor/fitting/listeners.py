"""When a homeowner accepts, the fitters' pack is made. Whatever goes wrong here, the acceptance stands."""

import logging

from django.dispatch import receiver

from contractor.quotes.models import Decision
from contractor.quotes.signals import accepted

logger = logging.getLogger(__name__)


@receiver(accepted, dispatch_uid="make-work-pack")
def pack_for_acceptance(sender, decision: Decision, **kwargs) -> None:
    from contractor.fitting.services import make_pack  # brings the whole engine: not for every management command

    revision = decision.revision
    try:
        make_pack(job=revision.job, revision=revision, scheme=decision.scheme, option=decision.option)
    except Exception:  # the office makes it from the site page, where it also sees why it failed
        logger.exception("No work pack could be made for %s", revision)
