"""What code puts together and a technician reads on a page; {0}, {1} ... stand for what varies.

Said in the phone's language where it is shown (`speaking.told`); the words are in kitting/locale.
What the record says of a scan is put into the language in the browser (words.js).
"""

from typing import Final

FROM_WHERE: Final = {
    "box": "{0} in the box of {1}",
    "van": "{0} on the van: look that it is there",
    "own": "{0} in {1}'s bag: look that it is there",
    "bag": "{0} in {1}, made ahead",
    "stick": "{0} in one piece from {1}, cut from {2}",
    "shelf": "{0} from {1}",
    "": "{0} not in stock by the book",
}
"""Where something is taken from; too short to be told by its words alone."""
SENTENCES: Final = (
    # the drawing of a stack
    "The stack of {0}",
    "What stands at {0}",
    "{0}, stack {1}: {2}",
    "{0}, stack {1}, place {2}: {3}",
    "{0}, stack {1}, place {2}: {3}, {4}",
    "Stack {0}, place {1}: {2}",
    "{0} m high, {1} wide",
    "{0} m from the wall, {1} high",
    "not seen",
    "{0}, not seen",
    # quantities
    "{0} m of {1}",
    "{0} ml of {1}",
    "{0} m² of {1}",
    # where something is, and who has one
    "1 thing in it",
    "{0} things in it",
    "on the van's own shelf",
    "{0} always has it along",
    "in {0}'s bag",
    "in {0}'s bag, with your crew: scan it on the page Unbox",
    "{0} in the box of {1}",
    "{0}, your own: scan it on the page Unbox",
    "packed for other jobs: a lead has to say yes",
    "on the shelf at the depot",
    # what was asked for
    "{0} sees to it",
    "nobody has taken it yet",
    "{0} brings it",
    "{0} brings it, {1}",
    "something",
    # what breaks a job
    "{0}: {1} needed, {2} here",
    "{0}: {1} needed, never counted",
    "{0}: {1} needed, each piece whole; the longest here is {2}",
    "{0}: missing",
    "{0}: damaged",
    "{0}: missing, another is in stock: pack it",
    "{0}: damaged, another is in stock: pack it",
    "{0}: dispute",
    "Back to the shelf: {0}",
    "Sign first: {0}",
    "Its kit was not worked out.",
    # what was found on the way
    "{0} missing.",
    "{0} is missing.",
    "{0} missing with {1}.",
    "{0} damaged.",
    "{0} damaged: {1}.",
    "Picking was not scanned: {0}.",
    "Loading was not scanned: {0}.",
    "Unboxing was not scanned: {0}.",
    "Fitting was not scanned: {0}.",
    "{0}: {1} ohm. {2}.",
    "Not done at {0}: {1}.",
    "{0} was never received.",
    "{0} is missing; the book has it empty.",
    "{0}; {1}. Look which is right.",
    # what became of a line of a closed kit
    "{0} fitted",
    "{0} used",
    "{0} came back",
    "{0} came back damaged",
    "{0} missing",
    "{0} of the van's own",
    "{0} never scanned",
    # charge before joining
    (
        "Bring new modules and those that stand to within {0} percentage points of each other, "
        "between {1} % and {2} %, and enter what each shows before they are joined; "
        "the maker's manual decides."
    ),
    "Recall {0}: {1}",
    # questions about the site, and how an answer is refused
    "Why",
    "not known yet",
    "{0} mm to {1} mm",
    "{0} mm to {1} m",
    "{0} m to {1} m",
    "{0}, as {1} or {2}",
    "{0}, or not known yet",
    "{0}: expected {1}, got nothing",
    "{0}: expected {1}, got {2}",
    "at least {0}",
    "at most {0}",
    "{0} characters",
    "{0}: expected numbers between semicolons, got {1}: write {2} or {3}",
    "one to three numbers as 25, 25",
    "numbers as 4, 4",
    "From the first: 4, 4",
    "Modules in each stack",
    "Stack system",
    "Choose",
    "{0}: expected a number that can be read one way, got {1}: write {2} or {3}",
    # figures at the bench
    "{0} V are lost, {1} % of the system.",
    "No usual gland holds it. Nothing nearer is offered: look at other glands.",
    "{0} (usually {1} to {2} mm)",
    "{0} Nm at most for the screw itself.",
    "{0} to open for {1} ml.",
    "The guide is {0} kg for all of them together.",
    "The method recommends no weight at all for such a lift.",
    "Lifting index {0}: the method recommends {1} kg at most there.",
    (
        "Lifting index {0}: the method recommends {1} kg at most there. "
        "The load is above that: a second person or a lifting aid is asked."
    ),
    # why so many
    "{0} only if it is {1}",
    # signing in
    "Name",
    "Password",
    # the data line
    "stack bus {0}",
    "not measured yet",
    "Both ends are there",
    "One end too many: take out the one that is not at an end",
    "{0} ends too many: leave one at each end of the line",
    "One end is missing: one of {0} is there",
    "The two wires touch each other, or the meter sees another part",
    "No end is there, or the line is broken on the way",
    "No number of ends shows that: look for a loose plug, measure again",
    # the own sign-in
    "Password until now",
    "New password",
    "At least 12 characters. Several words with blanks between them are easy to keep in mind.",
    "Too many wrong passwords from here. Try again in {0} min.",
    "Signed out there. What was scanned there and not sent stays on it.",
    "That sign-in was over already.",
    "This is not your password.",
    "This is your password already.",
    "Show what I type",
    # a code beside the password
    "Code",
    "The six digits that the app on your phone shows now, or a recovery code.",
    "The six digits that the app shows.",
    "That is not the code of now, or it was used already. Wait for the next one.",
    "That is not the code of now. Type the next one; look whether both devices' clocks are right.",
    "This page stood open for too long: open it anew, and let your phone read the new square.",
    "Signing in asks for the password alone now. Sign in again.",
    "Your password is changed. On every other device you are signed out.",
)
