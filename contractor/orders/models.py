"""What a job takes from the van instead of buying it."""

from django.db import models

from contractor.catalogue.models import Material
from contractor.jobs.models import Job


class FromVan(models.Model):
    """Packs of one material that are in the van for this job. Kept by the job: a pack goes to one job only."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="from_van")
    material = models.ForeignKey(Material, on_delete=models.CASCADE, related_name="+")
    packs = models.PositiveIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["job", "material"], name="one_line_from_van_per_material"),
            models.CheckConstraint(condition=models.Q(packs__gt=0), name="something_from_van"),
        ]

    def __str__(self) -> str:
        return f"{self.packs} × {self.material}"
