"""The tables of the lower house: people, things, places, events and what events caused."""

from inventory.models.boxes import BoxDoubt, BoxDoubtEnd, CartonContent
from inventory.models.bringing import BroughtFile, BroughtPart
from inventory.models.charging import Charge, ChargeRule
from inventory.models.deliveries import (
    About,
    Claim,
    ClaimDue,
    ClaimStep,
    Clock,
    Delivery,
    How,
    ListedSerial,
    Partner,
    PartnerNeed,
)
from inventory.models.desk import Amendment, SentForm
from inventory.models.events import (
    ContainerMove,
    Event,
    Finding,
    FindingAnswer,
    Held,
    Hold,
    HoldRelease,
    Movement,
    Outcome,
    RecordMark,
    Reversal,
    Scan,
)
from inventory.models.notes import Note, Photo, SentPhoto
from inventory.models.notices import (
    CallAnswer,
    Notice,
    NoticeCall,
    NoticeEnd,
    NoticeFreeze,
    NoticeHit,
    NoticeRule,
    NoticeUnseen,
)
from inventory.models.orders import OrderLine
from inventory.models.people import Device, DeviceGap, Person, Role
from inventory.models.places import Holding, Kept, Place, PlaceKind, Purpose
from inventory.models.printing import Printer, PrintJob, PrintTurn
from inventory.models.returns import Return, ReturnKind, ReturnRule, ReturnStep
from inventory.models.sign_ins import WrongPassword
from inventory.models.things import Item, ItemCode, Lot, Tracking, Unit, UnitAlias

__all__ = [
    "About",
    "Amendment",
    "BoxDoubt",
    "BoxDoubtEnd",
    "BroughtFile",
    "BroughtPart",
    "CallAnswer",
    "CartonContent",
    "Charge",
    "ChargeRule",
    "Claim",
    "ClaimDue",
    "ClaimStep",
    "Clock",
    "ContainerMove",
    "Delivery",
    "Device",
    "DeviceGap",
    "Event",
    "Finding",
    "FindingAnswer",
    "Held",
    "Hold",
    "HoldRelease",
    "Holding",
    "How",
    "Item",
    "ItemCode",
    "Kept",
    "ListedSerial",
    "Lot",
    "Movement",
    "Note",
    "Notice",
    "NoticeCall",
    "NoticeEnd",
    "NoticeFreeze",
    "NoticeHit",
    "NoticeRule",
    "NoticeUnseen",
    "OrderLine",
    "Outcome",
    "Partner",
    "PartnerNeed",
    "Person",
    "Photo",
    "Place",
    "PlaceKind",
    "PrintJob",
    "PrintTurn",
    "Printer",
    "Purpose",
    "RecordMark",
    "Return",
    "ReturnKind",
    "ReturnRule",
    "ReturnStep",
    "Reversal",
    "Role",
    "Scan",
    "SentForm",
    "SentPhoto",
    "Tracking",
    "Unit",
    "UnitAlias",
    "WrongPassword",
]
