"""The other jobs of the week, left where a real Tuesday morning would find them."""

from __future__ import annotations

from kitting.demo import bench_work, damage
from kitting.demo.stage import Stage
from kitting.demo.worker import label_of_place, label_outside
from kitting.overviews import walk

HALF = 12  # stops of the expansion's kit that are picked before the shift ends


def pack_row(stage: Stage) -> None:
    """Tuesday's row: picked but for what is short."""
    wanda = stage.workers["wanda"]
    picked = bench_work.pick(stage, "row")
    kit = stage.kit("row")
    stage.say(wanda.name, f"picks {kit.code}: {picked} stops through the bins")
    lacking = walk(kit).short
    stage.aside(f"still short: {', '.join(stop.line.item.name for stop in lacking) or 'nothing'}")


def begin_expansion(stage: Stage) -> None:
    """Wednesday's expansion: half picked; the hand finds more than the book has."""
    wanda = stage.workers["wanda"]
    picked = bench_work.pick(stage, "expansion", HALF)
    kit = stage.kit("expansion")
    stage.say(wanda.name, f"begins {kit.code}: {picked} stops, the rest tomorrow")
    gasket = kit.lines.get(item__code="CT-GASKET", spare=False)
    wanda.hand.subject = kit.subject
    answer = wanda.tap(
        "pick",
        gasket.item.code,
        ("problem",),
        start=stage.place("C1").code,
        quantity=gasket.quantity,
    )
    wanda.hand.subject = ""
    stage.say(wanda.name, "finds two gaskets where the book has none: the hand wins")
    stage.aside(answer["sentence"])


def load_row(stage: Stage) -> None:
    """Tuesday before seven: one parcel belongs to another kit, one box is dented."""
    wanda, kit = stage.workers["wanda"], stage.kit("row")
    wanda.hand.subject = kit.subject
    other = bench_work.parcels(stage.kit("expansion"))[0]
    answer = wanda.scan("load", label_of_place(other), ("dispute",))
    stage.say(wanda.name, f"loads {kit.code} and takes a parcel of another kit")
    stage.aside(answer["sentence"])
    scans = bench_work.load(stage, "row")
    stage.say(wanda.name, f"loads {kit.code} on {kit.job.van}: {scans} scans")
    wanda.hand.subject = kit.subject
    dented = next(t.unit for t in bench_work.loose(kit) if t.unit and t.item.code == "LR-PU")
    photo = wanda.browser.send_file(
        "/api/photos", damage.picture(stage.eyes.rng), subject=kit.subject
    )
    answer = wanda.scan(
        "damaged",
        label_outside(dented),
        ("problem",),
        photo=photo["sha256"],
        reason="box dented and wet at one corner",
    )
    wanda.hand.subject = ""
    stage.say(wanda.name, "sees on the van that one box is dented, takes a photo")
    stage.aside(answer["sentence"])
