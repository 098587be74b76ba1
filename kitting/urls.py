"""Every address of the site: the pages of both houses, the API, the machinery."""

from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView

from kitting import api, security
from kitting.views import (
    bench,
    boxes,
    comparing,
    editor,
    home,
    jobs,
    kits,
    lists,
    my,
    refusals,
    returns,
    sheets,
    vans,
    visits,
    week,
)

handler403 = refusals.not_allowed
handler404 = refusals.not_there

urlpatterns = [
    path("", home.home, name="home"),
    path("week/", week.week, name="week"),
    path("jobs/new", editor.job_new, name="job_new"),
    path("jobs/<slug:code>/", jobs.job, name="job"),
    path("jobs/<slug:code>/visit", visits.job_visit, name="job_visit"),
    path("jobs/<slug:code>/compare", comparing.job_compare, name="job_compare"),
    path("jobs/<slug:code>/drawing", jobs.job_drawing, name="job_drawing"),
    path("jobs/<slug:code>/site-sheet.pdf", sheets.job_site_sheet, name="job_site_sheet"),
    path("jobs/<slug:code>/hand-over.pdf", sheets.job_hand_over, name="job_hand_over"),
    path("lists/", lists.lists, name="lists"),
    path("lists/new", lists.list_new, name="list_new"),
    path("lists/template.xlsx", lists.list_template, name="list_template"),
    path("lists/proposals", lists.list_proposals, name="list_proposals"),
    path("lists/<slug:family>/<str:day>/", lists.list_edition, name="list_edition"),
    path("lists/<slug:family>/<str:day>/text", lists.list_text, name="list_text"),
    path("kits/", kits.kits, name="kits"),
    path("kits/<slug:code>/", kits.kit, name="kit"),
    path("kits/<slug:code>/why", kits.kit_why, name="kit_why"),
    path("kits/<slug:code>/pick", kits.kit_pick, name="kit_pick"),
    path("kits/<slug:code>/checks", kits.kit_checks, name="kit_checks"),
    path("kits/<slug:code>/load", kits.kit_load, name="kit_load"),
    path("kits/<slug:code>/labels", kits.kit_labels, name="kit_labels"),
    path("boxes/", boxes.boxes_told, name="boxes"),
    path("kits/<slug:code>/pick-sheet.pdf", sheets.kit_pick_sheet, name="kit_pick_sheet"),
    path("figures/", bench.bench, name="bench"),
    path("vans/<slug:code>/<slug:day>/", vans.van_day, name="van_day"),
    path("returns/", returns.returns, name="returns"),
    path("my/", my.my_jobs, name="my_jobs"),
    path("my/<slug:code>/", my.my_job, name="my_job"),
    path("my/<slug:code>/load", my.my_load, name="my_load"),
    path("my/<slug:code>/unbox", my.my_unbox, name="my_unbox"),
    path("my/<slug:code>/fit", my.my_fit, name="my_fit"),
    path("my/<slug:code>/down", my.my_down, name="my_down"),
    path("my/<slug:code>/problem", my.my_problem, name="my_problem"),
    path("my/<slug:code>/back", my.my_back, name="my_back"),
    path("", include("inventory.urls")),
    path("api/jobs", api.api_jobs, name="api_jobs"),
    path("api/kits/<uuid:uid>", api.api_kit, name="api_kit"),
    path("api/schema", SpectacularAPIView.as_view(), name="api_schema"),
    path("csp-report", security.csp_report, name="csp_report"),
]
