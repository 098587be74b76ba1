"""The tables of the upper house: families, sites, jobs, kits and what stands at a site."""

from kitting.models.bags import BagContent, BagPart, MadeBag
from kitting.models.carried import Carried, OwnBag
from kitting.models.changes import HandLine, KitChange
from kitting.models.families import FamilyEdition
from kitting.models.handed_over import HandedOver
from kitting.models.jobs import Job, JobKind, Site, Sites
from kitting.models.kits import Kit, KitLine, Package
from kitting.models.leads import LeadPin, LeadWord, LeadWordUsed
from kitting.models.requests import PartRequest, PartRequestStep
from kitting.models.signing import CheckSigned
from kitting.models.sourcing import Pin, RunChoice, Serving, Substitute, SubstituteEnd, Turn
from kitting.models.standing import (
    AsBuilt,
    BusReading,
    ChargeReading,
    Installed,
    ScreenReading,
    Survey,
)
from kitting.models.ticked import Ticked
from kitting.models.vans import VanFacts, VanOut
from kitting.models.whereabouts import Whereabouts

__all__ = [
    "AsBuilt",
    "BagContent",
    "BagPart",
    "BusReading",
    "Carried",
    "ChargeReading",
    "CheckSigned",
    "FamilyEdition",
    "HandLine",
    "HandedOver",
    "Installed",
    "Job",
    "JobKind",
    "Kit",
    "KitChange",
    "KitLine",
    "LeadPin",
    "LeadWord",
    "LeadWordUsed",
    "MadeBag",
    "OwnBag",
    "Package",
    "PartRequest",
    "PartRequestStep",
    "Pin",
    "RunChoice",
    "ScreenReading",
    "Serving",
    "Site",
    "Sites",
    "Substitute",
    "SubstituteEnd",
    "Survey",
    "Ticked",
    "Turn",
    "VanFacts",
    "VanOut",
    "Whereabouts",
]
