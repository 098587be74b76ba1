"""A technician calls: the job is found, the problem written down, the answer goes back."""

from datetime import timedelta

from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from inventory.models import Finding
from kitting import asked_for, calling_in, urls
from kitting.models import Job, Kit
from kitting.progress import fold
from tests.kitting.test_unboxing import carry
from tests.kitting.yard import DAY, Yard, about
from tests.printed import Sheet


def found(text: str) -> list[tuple[str, str]]:
    return [(one.job.code, one.because) for one in calling_in.jobs_for(text, DAY)]


def test_a_job_is_found_by_street_name_or_the_end_of_a_serial(yard: Yard, kit: Kit) -> None:
    """Of site or crew, in any case; a serial by four characters of its end, where it travels."""
    carry(yard, kit, "QWERT")
    other = yard.kit(yard.job(yard.tove))

    for text in ("example la", "INVENTED", "tariq", "j1001"):
        assert (kit.job.code, "") in found(text), text
    assert [code for code, _ in found("Tove")] == [other.job.code]
    assert found("wert") == [(kit.job.code, "battery module QWERT is of this job")]
    assert found("ert") == found("wart") == found("Mühlenstraße") == found("x" * 99) == []
    yard.tariq.scan("unbox", "QWERT", **about(kit))
    assert [code for code, _ in found("wert")] == [kit.job.code]


def test_the_nearest_day_comes_first_and_what_is_over_is_left_out(yard: Yard, kit: Kit) -> None:
    """Cancelled jobs and those without a released kit are not what somebody calls about."""
    later, off = yard.kit(), yard.kit()
    yard.job()
    Job.objects.filter(pk=kit.job_id).update(date=DAY + timedelta(3))
    Job.objects.filter(pk=off.job_id).update(cancelled_at="2026-11-25T06:00:00Z")

    assert [code for code, _ in found("invented")] == [later.job.code, kit.job.code]
    assert found("") == found("   ") == []


def test_the_desk_writes_down_what_a_caller_tells_in_one_event(yard: Yard, kit: Kit) -> None:
    """Missing and damaged become problems of the kit, without a photo; told once, not twice."""
    carry(yard, kit, "S1")
    told = {"via": "told", **about(kit)}
    done = yard.mona.scan("request", "CT-TERM", kind="missing", quantity=1, **told)
    broken = yard.mona.scan("request", "S1", kind="damaged", **told)
    other = yard.mona.scan("request", "CT-TIE", kind="wrong", quantity=2, **told)
    on_site = yard.tariq.scan("request", "CT-BRACKET", kind="damaged", **about(kit))

    assert [done.verdict, broken.verdict, other.verdict] == ["applied"] * 3, broken.sentence
    assert on_site.sentence == "Take a photo of the damage first."
    kinds = Finding.objects.order_by("pk").values_list("kind", "quantity")
    assert list(kinds) == [("missing", 1), ("damaged", 1), ("wrong", 1)]
    assert fold(kit).totals["CT-TERM"].missing == 1
    yard.tariq.scan("missing", "CT-BOLT6", quantity=3, **about(kit))
    asked = yard.tariq.scan("request", "CT-BOLT6", kind="missing", **about(kit))
    assert asked.sentence.startswith("3 x ")
    assert Finding.objects.filter(kind="missing").count() == 2


def test_it_rings_until_taken_and_the_answer_is_on_every_screen(yard: Yard, kit: Kit) -> None:
    """The bench hears of it, another crew does not; who brings it stands on all pages, as does what
    the van left without: the last line of it until that has come, then none."""
    yard.tariq.scan("request", "CT-TERM", kind="missing", quantity=1, **about(kit))
    desk, crew = Client(), Client()
    desk.force_login(yard.mona.person)
    crew.force_login(yard.tariq.person)
    [ringing] = desk.get(reverse("api_requests")).json()
    assert ringing["words"] == f"{kit.job.code} needs 1 x bus end plug"
    yard.wanda.scan("request_taken", target=ringing["code"], **about(kit))
    assert desk.get(reverse("api_requests")).json() == []
    yard.wanda.scan("request_answered", target="Q1", reason="on the hook", **about(kit))

    yard.mona.scan("leave_short", **{"with": "tove", "reason": "second run"}, **about(kit))
    short = [one.request.code for one in asked_for.of_kit(kit)][1:]
    for left in short[:-1]:
        assert yard.tariq.scan("request_come", target=left, **about(kit)).verdict == "applied"

    pages = [(desk, page) for page in pages_of("kits", kit.code) + pages_of("jobs", kit.job.code)]
    van = (kit.job.van.code, str(DAY))
    pages += [(desk, reverse(name, args=van)) for name in ("van_load", "van_day")]
    pages += [(desk, reverse("kits")), (desk, f"{reverse('week')}?from={DAY}")]
    pages += [(desk, reverse("part_requests")), (desk, f"{reverse('kits_together')}?day={DAY}")]
    pages += [(crew, page) for page in pages_of("my", kit.job.code)] + [(crew, reverse("my_jobs"))]
    assert len(pages) > 30
    assert told(pages) == {page: ["on the hook", "Tove brings it, second run"] for _, page in pages}
    for target in ("Q1", short[-1]):
        yard.tariq.scan("request_come", target=target, **about(kit))
    screens = [(who, page) for who, page in pages if not page.endswith(".pdf")]
    assert told(screens) == {page: [] for _, page in screens}
    assert asked_for.open_ones() == []


def told(pages: list[tuple[Client, str]]) -> dict[str, list[str]]:
    """What each page says of how things follow."""
    ways = ("on the hook", "Tove brings it, second run")
    read = {page: shown(who.get(page)) for who, page in pages}
    return {page: [way for way in ways if way in words] for page, words in read.items()}


def shown(answer: HttpResponse) -> str:
    """The words of a page, on the screen or on paper."""
    assert answer.status_code == 200
    printed = answer["Content-Type"] == "application/pdf"
    return Sheet(answer.content).text if printed else answer.content.decode()


def pages_of(kind: str, code: str) -> list[str]:
    """The addresses of all pages of one kit or job, whatever pages there will be."""
    found = (str(route.pattern) for route in urls.urlpatterns)
    start = f"{kind}/<slug:code>/"
    return [
        f"/{kind}/{code}/{route.removeprefix(start)}"
        for route in found
        if route.startswith(start) and route.removeprefix(start) not in BARE
    ]


BARE = ("labels", "drawing")  # labels to stick on, a drawing inside a page
