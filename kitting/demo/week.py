"""The whole story in its order, from the plan on Friday to Tuesday before seven."""

from __future__ import annotations

import io

from django.core.management import call_command

from inventory.digest import digest
from inventory.models import Event, Finding
from kitting.demo import bench_work, delivery, other_jobs, planning_week, site_work
from kitting.demo.stage import Stage
from kitting.demo.visitor import Unexpected
from kitting.queries import left_of


def play(stage: Stage) -> None:
    """Act the week out over HTTP."""
    stage.clock.set(13, 14)
    for username, phone in (("mona", False), ("wanda", False), ("tariq", True)):
        stage.sign_in(username, by_phone=phone)
    planning_week.plan(stage)
    stage.clock.set(16, 6)
    delivery.receive(stage)
    _pack_tower(stage)
    _tower_on_site(stage)
    stage.clock.set(16, 13, 30)
    other_jobs.pack_row(stage)
    other_jobs.begin_expansion(stage)
    stage.clock.set(16, 16, 20)
    site_work.bring_back(stage)
    stage.clock.set(17, 6, 25)
    other_jobs.load_row(stage)


def _pack_tower(stage: Stage) -> None:
    wanda = stage.workers["wanda"]
    stops = bench_work.pick(stage, "tower")
    kit = stage.kit("tower")
    stage.say(wanda.name, f"picks {kit.code}: {stops} stops, small parts into bags by step")
    scans = bench_work.load(stage, "tower")
    things = len(left_of(kit))
    stage.say(wanda.name, f"loads {kit.code} on {kit.job.van}: {scans} scans for {things} things")


def _tower_on_site(stage: Stage) -> None:
    stage.clock.set(16, 8, 10)
    tariq, kit = stage.workers["tariq"], stage.kit("tower")
    tariq.hand.subject = kit.subject
    tariq.browser.open(f"/my/{kit.job.code}/")
    foreign = tariq.browser.get(f"/my/{stage.kit('row').job.code}/")
    stage.say(tariq.name, f"opens his job; a job that is not his answers {foreign.status}")
    site_work.unbox(stage)
    site_work.tell_problems(stage)
    stage.clock.set(16, 10, 40)
    site_work.fit(stage)
    site_work.finish(stage)


def close(stage: Stage) -> None:
    """Show what is left at the end: a chain, an empty kit, a ledger that adds up."""
    stage.tell("")
    stage.tell("The chain of the cracked module:")
    for line in _said("trace", site_work.cracked_unit(stage).serial):
        stage.tell(f"  {line}")
    kit = stage.kit("tower")
    left = left_of(kit)
    if left or kit.closed_by_id is None:
        raise Unexpected(f"{kit.code}: expected an empty closed kit, got {len(left)} things left")
    stage.tell("")
    stage.tell(f"{kit.code}: nothing is left in its parcels or loose at the site; it is closed.")
    stage.tell("")
    stage.tell("The ledger against itself:")
    for line in _said("audit"):
        stage.tell(f"  {line}")
    tally = stage.tally
    tally.findings = Finding.objects.count()
    tally.requests = sum(worker.browser.requests for worker in stage.workers.values())
    tally.digest = digest()
    stage.tell("")
    stage.tell(
        f"{Event.objects.count()} events. {tally.pictures} labels were photographed: {tally.read} "
        f"were read, {tally.typed} were typed by hand, none was read wrong."
    )


def _said(command: str, *words: str) -> list[str]:
    out = io.StringIO()
    call_command(command, *words, stdout=out)
    return out.getvalue().rstrip().split("\n")
