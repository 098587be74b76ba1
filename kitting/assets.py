"""How static files are named and stored."""

import re
from collections.abc import Callable
from typing import Any

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedFiles(CompressedManifestStaticFilesStorage):  # type: ignore[misc]  # no stubs
    """Names with a hash of the content, so that browsers may keep them for ever.

    Before the first `collectstatic` there are no hashed files: plain names are given then, which
    the development server and the test server find in the app folders.
    """

    # Without it a module imports its neighbours by unhashed names and old code stays cached.
    support_js_module_import_aggregation = True

    def url_converter(
        self, name: str, hashed_files: dict[str, str], *how: Any, **more: Any
    ) -> Callable[[re.Match[str]], str]:
        """Leave django-htmx's files as they came: they import a name only bundlers resolve."""
        if name.startswith("django_htmx/"):
            return lambda match: match[0]
        converter: Callable[[re.Match[str]], str] = super().url_converter(
            name, hashed_files, *how, **more
        )
        return converter

    def stored_name(self, name: str) -> str:
        return str(super().stored_name(name)) if self.hashed_files else name
