"""The headers that every answer carries, where browsers report what they blocked, and what is asked
of the settings before anything is served."""

import logging
from collections.abc import Callable
from ipaddress import ip_address
from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.core import checks
from django.http import HttpRequest, HttpResponse
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST

from inventory import security_log

log = logging.getLogger(__name__)

# No inline script or style anywhere: what is not listed is blocked.
CONTENT_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data: blob:",
        "connect-src 'self'",
        "worker-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
# The live camera's worker compiles its decoder: its own files are the one place where that may be.
DECODER = f"{settings.STATIC_URL}inventory/decoder/"
DECODER_POLICY = CONTENT_POLICY.replace("script-src 'self'", "script-src 'self' 'wasm-unsafe-eval'")
# Not theirs, not there, or what no page of ours sends.
REFUSED = (400, 403, 404, 405, 413, 415, 422)
REPORT_LIMIT = 4096  # bytes of a report that are kept


class ProxyMiddleware:
    """Hears of scheme and address from the proxy alone: anybody may write its headers."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if settings.BEHIND_PROXY and not _is_proxy(request.META.get("REMOTE_ADDR", "")):
            for name in ("HTTP_X_FORWARDED_PROTO", "HTTP_X_FORWARDED_FOR"):
                request.META.pop(name, None)
        return self.get_response(request)


def _is_proxy(peer: str) -> bool:
    """peer: an address; empty where the proxy speaks through a socket of this machine."""
    if not peer:
        return True
    address = ip_address(peer)
    address = getattr(address, "ipv4_mapped", None) or address
    return any(address in network for network in settings.PROXIES)


class HeadersMiddleware:
    """Give each answer the content policy and its companions."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response
        reports = "; report-uri /csp-report" if settings.CSP_REPORTS else ""
        self.policy, self.decoder_policy = CONTENT_POLICY + reports, DECODER_POLICY + reports

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        decoder = request.path.startswith(DECODER)
        policy = self.decoder_policy if decoder else self.policy
        response.headers.setdefault("Content-Security-Policy", policy)
        where = "(self)" if settings.PHOTO_PLACE else "()"
        response.headers.setdefault(
            "Permissions-Policy", f"camera=(self), microphone=(), geolocation={where}"
        )
        # A page of a signed-in person must not come back from the cache of a shared bench. Static
        # files are answered before anybody is asked for.
        person = getattr(request, "user", None)
        if person is not None and person.is_authenticated:
            response.headers.setdefault("Cache-Control", "no-store")
            if response.status_code in REFUSED:
                security_log.refused(request, person, response.status_code)
        return response


def cookies_travel_by_https(**kwargs: Any) -> list[checks.CheckMessage]:
    """Warn where browsers come by https and cookies would travel by plain http as well."""
    named = [one for one in settings.CSRF_TRUSTED_ORIGINS if one.startswith("https://")]
    if not named or settings.HTTPS:
        return []
    words = f"LASTBOLT_ORIGINS names {named[0]}, and LASTBOLT_HTTPS is not yes: a sign-in could "
    hint = "Set LASTBOLT_HTTPS=yes; where a proxy speaks TLS, LASTBOLT_BEHIND_PROXY=yes too."
    return [checks.Warning(f"{words}be read on plain http.", hint=hint, id="kitting.W001")]


def asked_of_photos(request: HttpRequest) -> dict[str, bool]:
    """Tell pages whether events say when and where their photos were taken."""
    return {"photo_place": settings.PHOTO_PLACE}


@login_not_required
@csrf_exempt  # browsers send these reports by themselves, without a token
@require_POST
def csp_report(request: HttpRequest) -> HttpResponse:
    """Log what a browser says it blocked; 404 unless LASTBOLT_CSP_REPORTS asks for reports."""
    if not settings.CSP_REPORTS:
        return HttpResponse(status=404)
    log.error("blocked by content policy: %s", request.body[:REPORT_LIMIT].decode(errors="replace"))
    return HttpResponse(status=204)
