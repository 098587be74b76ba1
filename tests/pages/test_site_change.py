"""A site's name, address and number are somebody's: they can be put right and forgotten."""

import pytest

from kitting.models import Site
from tests.people import Cast


@pytest.mark.django_db
def test_a_site_is_put_right_and_forgotten(cast: Cast) -> None:
    """What is left empty is erased everywhere it was shown; the label code names the site then."""
    work = cast.works["technician"]
    site = work.job.site
    at, office = f"/sites/{site.place.code}/", cast.clients["manager"]
    was = site.address

    told = {"name": "House with the well", "address": "7 Other Lane", "phone": "+44 0000 445566"}
    assert office.post(at, told).status_code == 302
    assert "7 Other Lane" in cast.clients["technician"].get(at).content.decode()
    assert was not in office.get(at).content.decode()

    assert office.post(at, dict.fromkeys(told, "")).status_code == 302
    assert str(Site.objects.get(pk=site.pk)) == f"Site {site.place.code}"
    shown = office.get(at).content.decode() + office.get("/sites/").content.decode()
    assert not [words for words in told.values() if words in shown]
