"""When a job is lost or closed, what was reserved for it and is still in store is free again."""

from django.db.models.signals import post_save
from django.dispatch import receiver

from contractor.jobs.models import Stage, StageChange
from contractor.offcuts.services import release


@receiver(post_save, sender=StageChange, dispatch_uid="release-offcuts")
def release_when_over(sender, instance: StageChange, created: bool, **kwargs) -> None:
    if created and instance.to_stage in (Stage.LOST, Stage.CLOSED):
        release(job=instance.job, by=instance.by)
