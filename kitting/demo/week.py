"""The whole story in its order, from the plan on Friday to Tuesday before seven."""

from __future__ import annotations

import io
import json
from datetime import datetime
from http import HTTPStatus

from django.core.management import call_command

from inventory.digest import digest
from inventory.models import Event, Finding
from kitting.demo import (
    bench_work,
    delivery,
    made_ahead,
    other_jobs,
    planning_week,
    recall,
    site_work,
    van_list,
)
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
    stage.clock.set(16, 14)
    other_jobs.pack_row(stage)
    other_jobs.begin_expansion(stage)
    stage.clock.set(16, 16, 20)
    site_work.bring_back(stage)
    stage.clock.set(17, 6, 25)
    other_jobs.load_row(stage)
    made_ahead.make(stage)
    van_list.give(stage)
    stage.clock.set(17, 6, 40)
    recall.freeze(stage)


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
    if foreign.status != HTTPStatus.NOT_FOUND:
        raise Unexpected(f"another crew's job: expected 404, got {foreign.status}")
    stage.say(tariq.name, "opens his job; that of another crew is not there for him")
    site_work.unbox(stage)
    site_work.tell_problems(stage)
    stage.clock.set(16, 9, 15)
    site_work.fit(stage)
    stage.clock.set(16, 13)
    site_work.finish(stage)


def close(stage: Stage) -> None:
    """Show what is left at the end: a chain, an empty kit, a ledger that adds up."""
    stage.tell("")
    cracked = site_work.cracked_unit(stage)
    told = json.loads(_said("trace", cracked.serial, "--json"))
    stage.tell(f"The whole way of {told['name']} (`manage.py trace {cracked.serial}`):")
    for link in told["links"]:
        when = datetime.fromisoformat(link["device_time"])
        stage.tell(f"  {when:%a %d %b %H:%M}  {link['who']:<13} {link['sentence']}")
    for hold in told["holds"]:
        stage.tell(f"  set aside: {hold}")
    kit = stage.kit("tower")
    left = left_of(kit)
    if left or kit.closed_by_id is None:
        raise Unexpected(f"{kit.code}: expected an empty closed kit, got {len(left)} things left")
    stage.tell("")
    stage.tell(f"{kit.code} is empty: nothing in its parcels, nothing loose at the house; closed.")
    checks = json.loads(_said("audit", "--json"))["checks"]
    rows = sum(check["read"] for check in checks)
    stage.tell(f"`audit` read {rows} rows in {len(checks)} checks: all hold.")
    _count(stage)


def _count(stage: Stage) -> None:
    tally = stage.tally
    tally.findings = Finding.objects.count()
    tally.requests = sum(worker.browser.requests for worker in stage.workers.values())
    tally.digest = digest()
    stage.tell(
        f"{Event.objects.count()} events. {tally.pictures} labels were photographed: {tally.read} "
        f"were read, {tally.typed} were typed by hand, none was read wrong."
    )


def _said(command: str, *words: str) -> str:
    """What a command prints; it raises CommandError where it finds a breach."""
    out = io.StringIO()
    call_command(command, *words, stdout=out)
    return out.getvalue()
