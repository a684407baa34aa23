"""Who may sign in, the firm they work for, and the record of who changed what."""

import re
from decimal import Decimal

from django.contrib.auth.models import AbstractUser
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from contractor.common.templatetags.wording import day

PERCENT = [MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(100))]


class Role(models.TextChoices):
    OWNER = "owner", "Owner"
    OFFICE = "office", "Office"
    FITTER = "fitter", "Fitter"


class User(AbstractUser):
    role = models.CharField(max_length=10, choices=Role.choices, default=Role.FITTER)
    phone = models.CharField(max_length=30, blank=True)
    password_is_one_time = models.BooleanField(default=False, help_text="Opens nothing but the page to change it.")

    class Meta:
        ordering = ["first_name", "last_name", "username"]
        constraints = [
            models.CheckConstraint(condition=models.Q(role__in=Role.values), name="user_role_known"),
        ]

    @property
    def works_in_office(self) -> bool:
        return self.role in (Role.OWNER, Role.OFFICE)

    @property
    def display_name(self) -> str:
        return self.get_full_name() or self.username


class Firm(models.Model):
    """The one firm that this installation serves: one row, made on first use."""

    name = models.CharField(max_length=120, default="Your firm")
    address = models.TextField(blank=True, help_text="As it should stand on a letter.")
    phone = models.CharField(max_length=30, blank=True)
    email = models.EmailField(blank=True)
    company_number = models.CharField(max_length=20, blank=True)
    vat_number = models.CharField(max_length=20, blank=True)
    insurance_note = models.CharField(max_length=200, blank=True)
    logo = models.CharField(max_length=90, blank=True, help_text="Name of its file among the media.")
    logo_width_px = models.PositiveSmallIntegerField(default=0)
    logo_height_px = models.PositiveSmallIntegerField(default=0)

    materials_markup_percent = models.DecimalField(
        max_digits=5,
        decimal_places=2,
        default=Decimal("15"),
        validators=PERCENT,
        help_text="Added to what materials cost, for ordering and handling.",
    )
    overhead_profit_percent = models.DecimalField(
        max_digits=5,
        decimal_places=2,
        default=Decimal("20"),
        validators=PERCENT,
        help_text="Added to cost (a markup, not a margin).",
    )
    preliminaries_percent = models.DecimalField(
        max_digits=5,
        decimal_places=2,
        default=Decimal("10"),
        validators=PERCENT,
        help_text="Set-up, protection, parking, supervision and insurance, on materials and labour.",
    )
    vat_percent = models.DecimalField(max_digits=5, decimal_places=2, default=Decimal("20"), validators=PERCENT)
    deposit_percent = models.DecimalField(max_digits=5, decimal_places=2, default=Decimal("20"), validators=PERCENT)
    crew_size = models.PositiveSmallIntegerField(
        default=2, validators=[MinValueValidator(1), MaxValueValidator(20)], help_text="Who usually work on a job."
    )
    day_hours = models.DecimalField(
        max_digits=4,
        decimal_places=2,
        default=Decimal("7.5"),
        validators=[MinValueValidator(Decimal(1)), MaxValueValidator(Decimal(16))],
        help_text="Hours that each of them works in a day.",
    )
    learns_uncertainty = models.BooleanField(default=False, help_text="Whether its own sound tests set the factor.")
    uncertainty_factor = models.DecimalField(
        max_digits=4,
        decimal_places=2,
        default=Decimal("1.00"),
        validators=[MinValueValidator(Decimal("0.8")), MaxValueValidator(Decimal("2"))],
        help_text="Multiplies the uncertainty that a prediction states.",
    )
    quote_valid_days = models.PositiveSmallIntegerField(default=30, validators=[MinValueValidator(1)])

    exclusions = models.TextField(blank=True, help_text="One to a line; printed in full on each proposal.")
    terms = models.TextField(blank=True, help_text="Have these checked by someone qualified where you trade.")
    guarantee = models.TextField(blank=True)

    next_job_number = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="firm_is_one_row")]

    def __str__(self) -> str:
        return self.name


class AuditEntry(models.Model):
    """A line of the firm's record; nothing edits or deletes one."""

    at = models.DateTimeField(auto_now_add=True)
    user = models.ForeignKey(User, null=True, on_delete=models.PROTECT, related_name="+")
    action = models.CharField(max_length=60)
    subject = models.CharField(max_length=200)
    detail = models.JSONField(default=dict)

    class Meta:
        ordering = ["-at", "-pk"]
        verbose_name_plural = "audit entries"

    @property
    def detail_lines(self) -> list[str]:
        """The detail as a person reads it; a pair is a value before and after."""
        lines = []
        for key, value in self.detail.items():
            name = key.replace("_", " ").capitalize()
            if isinstance(value, list) and len(value) == 2:
                value = f"{_told(value[0]) or 'nothing'} → {_told(value[1]) or 'nothing'}"
            if value not in ("", None):
                lines.append(f"{name}: {_told(value)}")
        return lines


def _told(value) -> object:
    """A day kept as 2026-11-25 as it is written on every page; anything else as it is."""
    return day(value) if isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value) else value
