"""Where the owner lets tests set the uncertainty, each one kept, changed or deleted sets it anew."""

from django.db.models.signals import post_delete, post_save
from django.dispatch import receiver

from contractor.learning.services import factor_follow
from contractor.soundtests.models import SoundTest


@receiver(post_save, sender=SoundTest, dispatch_uid="learn-from-test-kept")
@receiver(post_delete, sender=SoundTest, dispatch_uid="learn-from-test-gone")
def follow(sender, **kwargs) -> None:
    factor_follow()
