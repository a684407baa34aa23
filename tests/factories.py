"""Rows for tests, each valid on its own. All names are invented."""

from decimal import Decimal

import factory
from django.utils import timezone

from contractor.accounts.models import Role, User
from contractor.catalogue.models import (
    BuildUp,
    BuildUpLayer,
    Construction,
    ConstructionLayer,
    LabourRate,
    Material,
)
from contractor.customers.models import Customer, Property
from contractor.jobs.models import Job, Visit
from contractor.rooms.models import (
    Fixture,
    Opening,
    Patch,
    Photo,
    Room,
    RuleOverride,
    Scheme,
    SidePath,
    Surface,
    Treatment,
)


class UserFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = User
        skip_postgeneration_save = True

    username = factory.Sequence(lambda n: f"person{n}")
    first_name = "Sam"
    last_name = factory.Sequence(lambda n: f"Tester{n}")
    role = Role.OFFICE
    password = factory.django.Password("long-enough-for-tests")


class CustomerFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Customer

    name = factory.Sequence(lambda n: f"Customer {n}")
    email = factory.Sequence(lambda n: f"customer{n}@example.com")


class PropertyFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Property

    customer = factory.SubFactory(CustomerFactory)
    address_line_1 = factory.Sequence(lambda n: f"{n + 1} Larch Rise")
    town = "Fenwick Marsh"
    postcode = "ZZ9 9ZZ"
    kind = Property.Kind.SEMI
    built = Property.Built.FROM_1919
    tenure = Property.Tenure.FREEHOLD


class JobFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Job

    number = factory.Sequence(lambda n: 1000 + n)
    property = factory.SubFactory(PropertyFactory)
    title = "Bedroom party wall"


class MaterialFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Material

    key = factory.Sequence(lambda n: f"material-{n}")
    name = factory.Sequence(lambda n: f"Material {n}")
    kind = Material.Kind.BOARD
    form = Material.Form.SHEET
    length_mm = 2400
    width_mm = 1200
    thickness_mm = Decimal("15")
    mass_kg_m2 = Decimal("12.8")
    mass_kg_each = Decimal("36.9")
    density_kg_m3 = Decimal("853")
    coincidence_m_hz = Decimal("32.3")
    loss_factor = Decimal("0.014")
    pack_unit = "sheet"
    price = Decimal("20.25")
    price_set_on = factory.LazyFunction(lambda: timezone.localdate())


class BrickFactory(MaterialFactory):
    name = factory.Sequence(lambda n: f"Brick {n}")
    kind = Material.Kind.FABRIC
    form = Material.Form.NONE
    length_mm = width_mm = thickness_mm = mass_kg_m2 = mass_kg_each = price = price_set_on = None
    density_kg_m3 = Decimal("1750")
    coincidence_m_hz = Decimal("24")
    loss_factor = Decimal("0.010")
    is_masonry = True


class ConstructionFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Construction
        skip_postgeneration_save = True

    key = factory.Sequence(lambda n: f"construction-{n}")
    name = factory.Sequence(lambda n: f"Brick wall {n}")
    kind = Construction.Kind.WALL
    layer = factory.RelatedFactory("tests.factories.ConstructionLayerFactory", factory_related_name="construction")


class ConstructionLayerFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = ConstructionLayer

    construction = factory.SubFactory(ConstructionFactory, layer=None)
    order = 1
    material = factory.SubFactory(BrickFactory)
    thickness_mm = Decimal("215")


class BuildUpFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = BuildUp

    key = factory.Sequence(lambda n: f"build-up-{n}")
    name = factory.Sequence(lambda n: f"Lining {n}")
    surface = BuildUp.Surface.WALL
    depth_mm = Decimal("95")
    labour_hours_per_unit = Decimal("2.35")


class BuildUpLayerFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = BuildUpLayer

    build_up = factory.SubFactory(BuildUpFactory)
    order = factory.Sequence(lambda n: n + 1)
    role = BuildUpLayer.Role.BOARD
    description = "Dense board"
    material = factory.SubFactory(MaterialFactory)
    thickness_mm = Decimal("15")


class LabourRateFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = LabourRate
        django_get_or_create = ["key"]

    key = "fitter"
    name = "Fitter"
    rate = Decimal("38.00")
    set_on = factory.LazyFunction(lambda: timezone.localdate())


class VisitFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Visit
        skip_postgeneration_save = True

    job = factory.SubFactory(JobFactory)
    on_date = factory.LazyFunction(lambda: timezone.localdate())

    @factory.post_generation
    def people(self, create, extracted, **kwargs):
        if create and extracted:
            self.people.set(extracted)


class RoomFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Room

    job = factory.SubFactory(JobFactory)
    name = factory.Sequence(lambda n: f"Room {n}")
    length_mm = 4200
    width_mm = 3600
    height_mm = 2400


class SurfaceFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Surface

    room = factory.SubFactory(RoomFactory)
    letter = factory.Sequence(lambda n: chr(65 + n % 26))
    name = "Party wall"
    face = Surface.Face.WALL
    role = Surface.Role.SEPARATING
    length_mm = 3600
    height_mm = 2400


class PatchFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Patch

    surface = factory.SubFactory(SurfaceFactory)
    name = "Whole wall"
    is_rest = True
    construction = factory.SubFactory(ConstructionFactory)
    depth_limit_mm = 100


class OpeningFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Opening

    surface = factory.SubFactory(SurfaceFactory)
    kind = Opening.Kind.WINDOW
    x_mm = 900
    y_mm = 900
    width_mm = 1200
    height_mm = 1200


class FixtureFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Fixture

    surface = factory.SubFactory(SurfaceFactory)
    kind = Fixture.Kind.SOCKET
    x_mm = 600
    y_mm = 450
    width_mm = 146
    height_mm = 86


class SidePathFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = SidePath

    room = factory.SubFactory(RoomFactory)
    kind = SidePath.Kind.VOID
    name = "Joined floor void"
    length_mm = 3600


class PhotoFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Photo

    room = factory.SubFactory(RoomFactory)
    full = factory.django.ImageField(width=16, height=12, format="JPEG", filename="full.jpg")
    small = factory.django.ImageField(width=8, height=6, format="JPEG", filename="small.jpg")
    width_px = 16
    height_px = 12


class RuleOverrideFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = RuleOverride

    patch = factory.SubFactory(PatchFactory)
    rule_key = "little-depth"
    rule_name = "Little depth"
    reason = "The customer knows that it will help with voices only."
    by = factory.SubFactory(UserFactory)


class SchemeFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Scheme

    job = factory.SubFactory(JobFactory)
    name = factory.Sequence(lambda n: f"Option {n}")


class TreatmentFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Treatment

    scheme = factory.SubFactory(SchemeFactory)
    patch = factory.SubFactory(PatchFactory)
    build_up = factory.SubFactory(BuildUpFactory)
