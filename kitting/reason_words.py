"""How the parts list's reasons are said: sums, counts, needs. {0}, {1} ... stand for what varies.

Said in the phone's language by `speaking.told_why`; the words are in kitting/locale. What a parts
list itself names, its items, parts and steps, stays as the list has it.
"""

from typing import Final

from kitting.plan.needs import NEEDS
from kitting.plan.telling import BARE

REASONS: Final = (
    "{0} for {1}: {2} (parts list, rule {3})",
    "for {0}: {1} (parts list, rule {2})",
    "{0} because {1}.",
    "once for all of it: {0}",
    "and",
    *(need.plain for need in NEEDS.values()),
    # counts and where they arise
    *BARE.values(),
    "once for the whole job",
    "stack {0}",
    "stack {0} place {1}",
    "{0} stack",
    "{0} stacks",
    "{0} module",
    "{0} modules",
    "{0} entries",
    "{0} for {1}",
    "bus ending at {0}",
    # sums
    "{0} module + {1} = {2} joints",
    "{0} modules + {1} = {2} joints",
    "{0} modules = {1} joints",
    "{0} module = {1} link",
    "{0} modules = {1} links",
    "{0} modules - {1} = {2} link",
    "{0} modules - {1} = {2} links",
    "{0} needed - {1} standing = {2}",
    "{0} standing - {1} needed = {2}",
    "{0} holes - {1} used = {2}",
    "{0} holes - {1} cables = {2} to pin",
    "{0} ends - {1} built in = {2}",
    "{0} ends - {1} built in ({2}) = {3}",
    "{0} - {1} moved = {2}",
    "{0} of {1} opened = {2}",
    "{0} opened joints x {1} renewed because it was opened = {2}",
    "{0} rounded up = {1}",
    "{0} of {1}, rounded up = {2}",
    "{0}, rounded up = {1}",
    # measures
    "{0}, in one piece",
    "{0} mm + {1} mm for the ends = {2} mm, in one piece",
    "{0} is {1} mm long",
    "hole {0} mm wide, {1} mm deep",
    "bead of {0} with waste = {1} ml",
    "{0} mm held + {1} mm in front + {2} mm in {3} = {4} mm",
    "{0} mm of {1}, {2} mm stay behind the hole",
    "a way of {0} mm takes the set of {1} mm, {2} in it",
    "timber",
    "concrete",
    "brick",
    "block",
    # what is chosen by a measure
    "{0} lies in {1} to {2} of {3}",
    "{0} lies in {1} to {2}, {3} lies in {4} to {5} of {6}",
    "the parts list has {0} for {1}",
    "{0} and {1}",
    "diameter {0}",
    "depth {0}",
    "length {0}",
    "height {0}",
    "layers {0}",
    "stud pitch {0}",
    "{0} carries {1} and keeps the drop of {2} V up to {3} mm",
    (
        "{0} carries {1}, held to {2} A by its terminals at {3} C "
        "and keeps the drop of {4} V up to {5} mm"
    ),
    "{0} for {1} circuits together = {2}",
    "{0} fill {1} % of {2}, {3} % may be filled",
    # spares, and what a person changed
    "spare",
    "by hand",
    "assumed {0} lost of {1}: no record yet",
    "{0} lost of {1}",
    "with {0} more than the {1} needed the whole kit is enough in {2}% of jobs instead of {3}%",
    "a small part that stops the job: one more always",
    "{0} by the parts list, {1} by hand: {2}",
    "only if it is {0}: {1}",
    "{0} by the parts list, taken off by hand: {1} ({2}).",
    "{0}, signed for this kit",
    "signed by a person",
)
