"""What the program is made of, from its locks: a bill of it, and whether something is known bad.

    python -m tests.supply bill [FILE]     CycloneDX 1.6 in JSON; on standard output
    python -m tests.supply audit           exit 1 where a vulnerability of something is known

The bill needs no network. The audit asks by uv and npm, whom their own settings say; who cannot be
asked is named in words and fails nothing.
"""

from __future__ import annotations

import base64
import json
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.tree import TOP

PYTHON = {"requirements.txt": "required", "requirements-dev.txt": "excluded"}
NPM = {"inventory/camera": "required", "tests/browser/axe": "excluded"}  # folders of their locks
LINE = re.compile(r"^([A-Za-z0-9._-]+)==(\S+?)(?: ; (.+?))? \\$", re.M)
PATIENCE = 120  # seconds for one who is asked


@dataclass(frozen=True, slots=True)
class Part:
    """One library as a lock names it."""

    kind: str  # "pypi" or "npm"
    name: str
    version: str
    scope: str  # of CycloneDX: "required" to run, "excluded" for tests alone
    where: str = ""  # marker (PEP 508), empty for everywhere
    sha512: str = ""  # hex, where the lock has one for all machines
    licence: str = ""  # SPDX expression, where the lock says it

    @property
    def purl(self) -> str:
        """Package URL, as CycloneDX and OSV name a library."""
        return f"pkg:{self.kind}/{self.name.replace('@', '%40')}@{self.version}"


def parts() -> list[Part]:
    """Everything that the locks name, each once, what is needed to run first."""
    found: dict[str, Part] = {}
    for part in [*_python(), *_npm()]:
        found.setdefault(part.purl, part)
    return list(found.values())


def _python() -> Iterator[Part]:
    for lock, scope in PYTHON.items():
        for name, version, where in LINE.findall((TOP / lock).read_text(encoding="utf-8")):
            yield Part("pypi", name, version, scope, where)


def _npm() -> Iterator[Part]:
    for folder, scope in NPM.items():
        lock = json.loads((TOP / folder / "package-lock.json").read_text(encoding="utf-8"))
        for path, one in lock["packages"].items():
            if path:
                name = path.rpartition("node_modules/")[2]
                digest = base64.b64decode(one["integrity"].removeprefix("sha512-")).hex()
                told = digest, one.get("license", "")
                yield Part("npm", name, one["version"], scope, "", *told)


def bill() -> dict[str, Any]:
    """Return the bill; the same locks give the same one."""
    top = {"type": "application", "bom-ref": "lastbolt", "name": "lastbolt"}
    found = parts()
    return {
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "version": 1,
        "metadata": {"component": top},
        "components": [_component(part) for part in found],
        "dependencies": [{"ref": "lastbolt", "dependsOn": [part.purl for part in found]}],
    }


def _component(part: Part) -> dict[str, Any]:
    told: dict[str, Any] = {"type": "library", "bom-ref": part.purl, "name": part.name}
    told |= {"version": part.version, "scope": part.scope, "purl": part.purl}
    if part.sha512:
        told["hashes"] = [{"alg": "SHA-512", "content": part.sha512}]
    if part.licence:
        told["licenses"] = [{"expression": part.licence}]
    if part.where:
        told["properties"] = [{"name": "lastbolt:where", "value": part.where}]
    return told


def lay(folder: Path) -> None:
    """Write the Python libraries as a project of uv's, which audits no list of requirements."""
    python = [part for part in parts() if part.kind == "pypi"]
    head = 'requires-python = ">=3.11"\n'
    asked = ", ".join(json.dumps(_asked(part)) for part in python)
    project = f'[project]\nname = "lastbolt"\nversion = "0"\n{head}dependencies = [{asked}]\n'
    (folder / "pyproject.toml").write_text(project, encoding="utf-8")
    source = '{ registry = "locks" }'
    own = ", ".join(
        f'{{ name = "{part.name}", version = "{part.version}", source = {source}'
        + (f", marker = {json.dumps(part.where)} }}" if part.where else " }")
        for part in python
    )
    lock = f'version = 1\nrevision = 3\n{head}\n[[package]]\nname = "lastbolt"\nversion = "0"\n'
    lock += f'source = {{ virtual = "." }}\ndependencies = [{own}]\n'
    for part in python:
        lock += f'\n[[package]]\nname = "{part.name}"\nversion = "{part.version}"\n'
        lock += f'source = {source}\nsdist = {{ path = "none.tar.gz" }}\n'
    (folder / "uv.lock").write_text(lock, encoding="utf-8")


def _asked(part: Part) -> str:
    return f"{part.name}=={part.version}" + (f" ; {part.where}" if part.where else "")


def uv(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run uv on what was laid out there."""
    command = [str(Path(sys.executable).with_name("uv")), *words, "--frozen", "--quiet"]
    return _run(command, folder, UV_HTTP_TIMEOUT="20", UV_HTTP_RETRIES="0")


def _run(command: list[str], folder: Path, **more: str) -> subprocess.CompletedProcess[str]:
    try:
        return subprocess.run(
            command,
            cwd=folder,
            capture_output=True,
            text=True,
            check=False,
            timeout=PATIENCE,
            env=os.environ | more,
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        return subprocess.CompletedProcess(command, 2, "", str(error))


def known_of_python(*words: str) -> list[str] | None:
    """Return what is known against a Python library, a line each; None where nobody answered."""
    with tempfile.TemporaryDirectory() as name:
        lay(Path(name))
        preview = ("--preview-features", "audit-command,json-output")
        answer = uv(Path(name), "audit", *preview, "--output-format", "json", *words)
    told = _json(answer.stdout)
    if "vulnerabilities" not in told:
        return None
    return [
        f"{one['dependency']['name']} {one['dependency']['version']}: {one['display_id']}"
        f" {one['summary'] or ''} (mended in {', '.join(one['fix_versions']) or 'none yet'})"
        for one in told["vulnerabilities"]
    ]


def known_of_npm(folder: str) -> list[str] | None:
    """Return what is known against what comes from npm; None where nobody answered."""
    command = ["npm", "audit", "--package-lock-only", "--json", "--fetch-retries=0"]
    told = _json(_run(command, TOP / folder).stdout)
    if "vulnerabilities" not in told:
        return None
    return [f"{name}: {one['severity']}" for name, one in told["vulnerabilities"].items()]


def _json(text: str) -> dict[str, Any]:
    try:
        told = json.loads(text)
    except ValueError:
        return {}
    return told if isinstance(told, dict) else {}


def audit(*words: str) -> int:
    """Ask about everything; `words` go to uv. 1 where something is known, else 0."""
    asked = {"the Python libraries": known_of_python(*words)}
    asked |= {f"npm's in {folder}": known_of_npm(folder) for folder in NPM}
    for what, known in asked.items():
        if known is None:
            print(f"audit: {what}: nobody could be asked. Ask again where there is a network.")
        else:
            print(f"audit: {what}: {len(known) or 'nothing'} known", *known, sep="\n  ")
    return int(any(asked.values()))


def main(words: list[str]) -> int:
    """Do what the first word says; 2 for one that is not known."""
    match words:
        case ["audit", *more]:
            return audit(*more)
        case ["bill"]:
            print(json.dumps(bill(), indent=1))
        case ["bill", file]:
            Path(file).write_text(json.dumps(bill(), indent=1) + "\n", encoding="utf-8")
        case _:
            print(__doc__, file=sys.stderr)
            return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
