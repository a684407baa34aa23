"""What crosses a cavity, and which way supports run."""

from django.db import models


class Connection(models.TextChoices):
    """What crosses a cavity; the words that the prediction knows."""

    NONE = "none", "Nothing"
    TIMBER_STUD = "timber_stud", "Timber studs"
    STEEL_STUD = "steel_stud", "Steel studs"
    RESILIENT_BAR = "resilient_bar", "Resilient bars"
    JOIST = "joist", "Joists"
    CLIP = "clip", "Isolating clips"
    HANGER = "hanger", "Rubber hangers"
    PAD = "pad", "Battens on pads"
    STAGGERED = "staggered", "Staggered studs"
    SEPARATE = "separate", "Separate frames"
    TIE = "tie", "Wall ties"


class Direction(models.TextChoices):
    VERTICAL = "vertical", "Upright"
    HORIZONTAL = "horizontal", "Across"
