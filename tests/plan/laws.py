"""Five laws of every kit, each as a walk over configurations that yields what breaks it.

A law takes an edition and yields (configuration, what is wrong): "" where it holds. It chooses its
own configurations, spread over the whole space.
"""

import collections
import re
from functools import partial

from kitting.plan import expansion, spares
from kitting.plan.lines import lines_of
from kitting.plan.meeting import Met, meet, needs
from kitting.plan.needs import NEEDS, RUN_NEEDS, WORK
from tests.plan.spread import MORE, WANTED, changed, equal_stacks, met, met_at, spread, stacks

TARGETS = (0.8, 0.95, 0.9999, 0.99999999)
"""The last is out of reach: a lost bag stays possible."""
SHAPE_WORDS = {"modules", "total_modules", "height"}
GROWING = {"each", "volume", "area", "length"}
"""Ways whose quantity grows with the count of the need, whatever it is."""
SHRINKING = ("blank ports",)
"""The more there is, the fewer of these there may be."""


# A module more


def a_module_more(known):
    """A module more lowers no need's count but blank ports', nor an item that its ways promise."""
    promised = promising(known)
    for turn, data in enumerate(spread(known, MORE)):
        bigger = grown(known, data)
        if bigger is not None:
            yield data, lowered(met_at(known, turn), met(known, bigger), promised)


def grown(known, data):
    """The configuration with one module more on one stack, or else on each; None where neither is
    legal."""
    each = [
        tuple(modules + (place == at) for place, modules in enumerate(data.shape))
        for at in range(len(data.shape))
    ]
    for shape in (*each, tuple(modules + 1 for modules in data.shape)):
        found = changed(known, data, stacks=stacks(shape))
        if found is not None:
            return found
    return None


def lowered(before, after, promised):
    """What there is less of, in words."""
    told = []
    for counted in (needed, lambda found: items_of(found, promised)):
        was, will = counted(before), counted(after)
        told += [f"{name} {was[name]} -> {will[name]}" for name in was if will[name] < was[name]]
    return ", ".join(told)


def needed(found):
    """Need -> its count over the whole kit, blank ports apart; needs that items raise too."""
    total = collections.Counter()
    for demand, _ in found.answered:
        if demand.need not in SHRINKING:
            total[demand.need] += demand.number
    return total


def items_of(found, items):
    total = collections.Counter()
    for entry in found.entries:
        if entry.item in items:
            total[entry.item] += entry.quantity
    return total


def promising(known):
    """Items that grow with their needs: only given by growing ways under conditions that do not
    look at the modules, for needs of the stacks themselves or raised by such items."""
    givers = collections.defaultdict(list)
    for rule in known.rules:
        for item in rule.counting.items():
            givers[item].append(rule)
    promised = {item for item, rules in givers.items() if all(map(growing, rules))}
    while True:
        raised = {
            (one.need, one.of)
            for item in known.items.values()
            if item.code not in promised
            for one in item.raises
        }
        kept = {
            item
            for item in promised
            if not any(rule.meets(*one) for rule in givers[item] for one in raised)
        }
        if kept == promised:
            return promised
        promised = kept


def growing(rule):
    """Whether a rule gives no less for a need that is no less."""
    if rule.way not in GROWING or rule.need in SHRINKING or rule.once:
        return False
    if SHAPE_WORDS & {condition.name for condition in rule.when}:
        return False
    figures = (getattr(rule.counting, name, None) for name in ("per", "seam", "width", "height"))
    return all(factor >= 0 for figure in figures if figure for _, factor in figure.terms)


# Other numbers


def other_numbers(known):
    """Renumbering stacks of equal modules, with the runs and entries that are theirs, changes
    nothing; nor does the order in which the needs come."""
    for data in spread(known, WANTED, equal_stacks):
        numbers = swapped_numbers(data.shape)
        plain, other = met(known, data), met(known, data, partial(all_renumbered, numbers))
        yield data, "" if taken(known, plain) == taken(known, other) else f"numbers {numbers}"


def swapped_numbers(shape):
    """Number of each stack -> its number after the equal ones are turned round."""
    alike = collections.defaultdict(list)
    for number, modules in enumerate(shape, 1):
        alike[modules].append(number)
    return {
        old: new for group in alike.values() for old, new in zip(group, group[::-1], strict=True)
    }


def all_renumbered(numbers, asked):
    """The needs under their other numbers, the last first."""
    return [renumbered(demand, numbers) for demand in asked][::-1]


def renumbered(demand, numbers):
    """A need of a stack as the need of the stack of another number; the system's as it is."""
    if "stack" not in demand.measures:
        return demand
    number = numbers[demand.measures["stack"]]
    place = re.sub(r"^stack \d+", f"stack {number}", demand.root[2])
    measures = {**demand.measures, "stack": number}
    return demand._replace(root=(*demand.root[:2], place), measures=measures)


def taken(known, found):
    """What a kit takes, whoever asks for it; and what cannot be."""
    lines = {
        (line.item, line.step): (line.quantity, sorted(line.pieces))
        for line in lines_of(known, found.entries)
    }
    return lines, len(found.open), sorted(problem.kind for problem in found.problems)


# What an expansion takes


def nothing_lost(known):
    """kit(old) + bought - brought back = kit(new), item by item, renewals apart; bought and brought
    back are the sums of what each need lacks and frees, not the difference of two kits."""
    set_aside = work_items(known)
    for turn, now in enumerate(spread(known, MORE)):
        data = changed(known, now, job="expansion", before=stood(known, now, turn))
        if data is not None and changed(known, data.before) is not None:
            yield data, unbalanced(known, data, met_at(known, turn), set_aside)


def stood(known, now, turn):
    """What stood before: it differs in its modules, its stacks, some answers, or all of them."""
    other = spread(known, MORE)[(turn * 7 + 3) % MORE]
    keys = [name for at, name in enumerate(known.axes) if turn % 4 > 1 and (at + turn) % 3 == 0]
    answers = {name: other.answers[name] for name in keys if other.answers[name] is not None}
    return {"stacks": stacks(older(known, now.shape, other.shape, turn)), **answers}


def older(known, shape, other, turn):
    """What stood: each stack one lower, one stack less, another row altogether, or the same row."""
    least = known.bounds.modules[0]
    choice = (
        tuple(max(least, modules - 1) for modules in shape),
        shape[: max(1, len(shape) - 1)],
        other,
        shape,
    )
    return choice[(turn // 2) % 4]


def unbalanced(known, data, new, set_aside):
    """Items that do not come out, in words."""
    after, old = met(known, data), met(known, data.before)
    if after.problems or after.open or old.problems:
        return str((after.problems, after.open, old.problems))
    found = expansion.change(known, data, after)
    was, will = (quantities(lines_of(known, one.entries)) for one in (old, new))
    bought, back, renewed = (
        quantities(lines) for lines in (found.lines, found.comes_back, found.renewed)
    )
    told = [
        f"{item}: {was[item]} + {bought[item]} - {back[item]} - {renewed[item]} = {will[item]}"
        for item in {**was, **will, **bought, **back}
        if item not in set_aside
        and was[item] + bought[item] - back[item] - renewed[item] != will[item]
    ]
    return "; ".join(told + by_needs(known, found, old, new, set_aside))


def quantities(lines):
    """Item -> base units."""
    total = collections.Counter()
    for line in lines:
        total[line.item] += line.quantity
    return total


def work_items(known):
    """Tools, gear and what else only serves the work: no rule gives them for what stands."""
    stay = {
        item
        for rule in known.rules
        if NEEDS[rule.need].kind != WORK and not rule.once
        for item in rule.counting.items()
    }
    return known.items.keys() - stay


def by_needs(known, found, old, new, set_aside):
    """Items for which what is bought and comes back is not the sum over the needs."""
    lacks, frees = collections.Counter(), collections.Counter()
    was, will = (held(one) for one in (old, new))
    for key in {**was, **will}:
        item = key[1]
        if known.items[item].unit == "mm":
            lacks[item] += sum((will[key] - was[key]).elements())
            frees[item] += sum((was[key] - will[key]).elements())
        else:
            change = sum(will[key].elements()) - sum(was[key].elements())
            lacks[item] += max(0, change)
            frees[item] += max(0, -change)
    again = {
        item: min(lacks[item], frees[item]) if known.items[item].reuse else 0
        for item in {**lacks, **frees}
    }
    moved = collections.Counter()
    for move in found.moves:
        moved[move.item] += move.quantity
    bought, back, renewed = (
        quantities(lines) for lines in (found.lines, found.comes_back, found.renewed)
    )
    return [
        f"{item}: needs lack {lacks[item]}, free {frees[item]}"
        for item in {**lacks, **frees}
        if item not in set_aside
        and known.items[item].renew != "whole"
        and (
            (bought[item] - renewed[item], back[item])
            != (lacks[item] - again[item], frees[item] - again[item])
            or moved[item] > again[item]
        )
    ]


def held(found):
    """(need of the stack, item, step) -> its pieces, or how many."""
    total = collections.defaultdict(collections.Counter)
    for entry in found.entries:
        if NEEDS[entry.demand.root[0]].kind != WORK and not entry.rule.once:
            total[entry.demand.root, entry.item, entry.step].update(
                entry.pieces or [entry.quantity]
            )
    return total


# A run in two


def a_run_in_two(known):
    """Two runs that together go the way of one take no less cable."""
    axes = [axis for axis in known.axes.values() if axis.kind == "length" and in_runs(known, axis)]
    for turn, data in enumerate(spread(known, MORE)):
        first, second = {}, {}
        for axis in axes:
            whole = data.answers[axis.name]
            if whole is not None and whole >= 2 * axis.low:
                first[axis.name] = axis.low + (whole - 2 * axis.low) * (turn % 11) // 10
                second[axis.name] = whole - first[axis.name]
        parts = [cable(known, having(data, answers)) for answers in (first, second)]
        if not first or None in parts:
            continue
        whole, names = cable(known, data), cut(known, first)
        told = [
            f"{name}: {whole[name]} > {parts[0][name]} + {parts[1][name]}"
            for name in names
            if whole[name] > parts[0][name] + parts[1][name]
        ]
        yield data, ", ".join(told)


def in_runs(known, axis):
    return any(axis.name in dict(run.length.terms) for run in known.runs)


def cut(known, axes):
    """Runs whose way is cut in two."""
    return [run.name for run in known.runs if axes.keys() & dict(run.length.terms).keys()]


def having(data, answers):
    """The site of a configuration with other lengths."""
    site = data.site()
    for name, value in answers.items():
        site = site.having(name, value)
    return site


def cable(known, data):
    """Run -> mm of cable and of what it lies in, all pieces; None where no kit can be."""
    site = data if hasattr(data, "having") else data.site()
    found, wanted = Met(), (*RUN_NEEDS, "enclose cable")
    asked = [one for one in needs(known, site, "new", found) if one.need in wanted]
    meet(known, site, asked, found)
    if found.problems:
        return None
    total = collections.Counter()
    for entry in found.entries:
        if known.items[entry.item].unit == "mm" and entry.demand.need in RUN_NEEDS:
            total[entry.demand.of] += sum(entry.pieces)
    return total


# Spares


def dearer_and_surer(known, choose=spares.choose):
    """A kit is never given cheaper spares, nor a lower chance, for a higher target."""
    for turn, data in enumerate(spread(known, MORE)):
        lines = [
            spares.Uncertain(item, count, 100)
            for item, count in quantities(lines_of(known, met_at(known, turn).entries)).items()
            if known.items[item].tracking in ("count", "lot") and known.items[item].unit == "piece"
        ]
        at = turn % (len(TARGETS) - 1)
        low, high = (choose(lines, target) for target in TARGETS[at : at + 2])
        good = low.cost <= high.cost and low.chance <= high.chance
        yield data, "" if good else f"{low} {high}"


LAWS = {
    law.__name__: law
    for law in (a_module_more, other_numbers, nothing_lost, a_run_in_two, dearer_and_surer)
}
