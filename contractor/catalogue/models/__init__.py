"""What is bought, what stands already, what we build, and what labour costs. All editable by the office."""

from contractor.catalogue.models.build_ups import BuildUp, BuildUpFixing, BuildUpLayer, HoldPoint
from contractor.catalogue.models.climates import Climate
from contractor.catalogue.models.constructions import Construction, ConstructionLayer
from contractor.catalogue.models.labour import LabourAllowance, LabourFactor, LabourRate
from contractor.catalogue.models.materials import Material
from contractor.catalogue.models.price_lists import PriceList
from contractor.catalogue.models.suppliers import Supplier
from contractor.catalogue.models.ties import Connection, Direction

__all__ = [
    "BuildUp",
    "BuildUpFixing",
    "BuildUpLayer",
    "Climate",
    "Connection",
    "Construction",
    "ConstructionLayer",
    "Direction",
    "HoldPoint",
    "LabourAllowance",
    "LabourFactor",
    "LabourRate",
    "Material",
    "PriceList",
    "Supplier",
]
