"""What numbers of the catalogue may be."""

from decimal import Decimal

from django.core.validators import MinValueValidator

NOT_NEGATIVE = [MinValueValidator(Decimal(0))]
