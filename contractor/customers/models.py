"""People and the homes they live in."""

from django.db import models


class Customer(models.Model):
    name = models.CharField(max_length=120)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=30, blank=True)
    notes = models.TextField(blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["name", "pk"]
        indexes = [models.Index(fields=["name"], name="customer_name")]

    def __str__(self) -> str:
        return self.name


class Property(models.Model):
    class Kind(models.TextChoices):
        DETACHED = "detached", "Detached house"
        SEMI = "semi", "Semi-detached house"
        TERRACE = "terrace", "Terraced house"
        PURPOSE_BUILT = "flat", "Purpose-built flat"
        CONVERSION = "conversion", "Flat in a converted house"
        MAISONETTE = "maisonette", "Maisonette"
        OTHER = "other", "Other"

    class Built(models.TextChoices):
        BEFORE_1919 = "pre_1919", "Before 1919"
        FROM_1919 = "1919_1944", "1919 to 1944"
        FROM_1945 = "1945_1964", "1945 to 1964"
        FROM_1965 = "1965_1980", "1965 to 1980"
        FROM_1981 = "1981_1999", "1981 to 1999"
        FROM_2000 = "2000_on", "2000 or later"
        UNKNOWN = "unknown", "Not known"

    class Tenure(models.TextChoices):
        FREEHOLD = "freehold", "Freehold"
        LEASEHOLD = "leasehold", "Leasehold"
        TENANT = "tenant", "Tenant"
        UNKNOWN = "unknown", "Not known"

    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="properties")
    address_line_1 = models.CharField(max_length=120)
    address_line_2 = models.CharField(max_length=120, blank=True)
    town = models.CharField(max_length=80)
    postcode = models.CharField(max_length=12)
    kind = models.CharField(max_length=20, choices=Kind.choices, default=Kind.OTHER)
    built = models.CharField(max_length=12, choices=Built.choices, default=Built.UNKNOWN)
    tenure = models.CharField(max_length=12, choices=Tenure.choices, default=Tenure.UNKNOWN)
    is_listed = models.BooleanField("Listed or in a conservation area", default=False)
    access_note = models.TextField("Access", blank=True, help_text="Keys, alarm, stairs, pets, quiet hours.")
    parking_note = models.CharField("Parking", max_length=200, blank=True)

    class Meta:
        verbose_name_plural = "properties"
        ordering = ["address_line_1", "pk"]
        indexes = [models.Index(fields=["postcode"], name="property_postcode")]

    def __str__(self) -> str:
        return self.one_line

    @property
    def lines(self) -> list[str]:
        return [s for s in (self.address_line_1, self.address_line_2, self.town, self.postcode) if s]

    @property
    def one_line(self) -> str:
        return ", ".join(self.lines)

    @property
    def may_hold_asbestos(self) -> bool:
        """Homes built before 2000 may; the UK ban dates from 1999."""
        return self.built != self.Built.FROM_2000
