"""The floors of DEVELOPERS.md: who may import whom, and who may write what."""

import ast
import re
import sys

import pytest

from tests.tree import TOP, files, imports, name_of, parsed, sources, texts

# Pure rooms and the libraries each may use; the standard library and itself always.
ROOMS = {
    "inventory/codes": set(),
    "inventory/ledger": set(),
    "inventory/pictures": {"barcode", "cv2", "numpy", "zxingcpp", "pyzbar", "PIL"},
    "inventory/incoming": {"python_calamine"},
    "inventory/labels": {"barcode", "numpy", "reportlab", "zxingcpp", "pyzbar", "PIL", "segno"},
    "kitting/plan": {"numpy", "scipy"},
}
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "manage.py",
    "pyproject.toml",
    "requirements.in",
    "requirements.txt",
    "requirements-dev.in",
    "requirements-dev.txt",
    "Makefile",
    ".ci",
    ".gitignore",
    ".gitattributes",
    "inventory",
    "kitting",
    "templates",
    "tests",
    "fixtures",
}
EMPTY_WORDS = {"utils", "helpers", "common", "core", "services", "managers"}
# Model -> the only files that may create, change or delete its rows.
WRITERS = {
    "Event": {"inventory/intake.py"},
    "Outcome": {"inventory/intake.py"},
    "Movement": {"inventory/moving.py", "inventory/moving_many.py"},
    "ContainerMove": {"inventory/moving.py"},
    "Holding": {"inventory/moving.py", "inventory/moving_many.py", "inventory/rebuilding.py"},
    "Job": {"kitting/packing.py", "kitting/withdrawing.py"},
    "Kit": {"kitting/packing.py", "kitting/withdrawing.py"},
    "KitLine": {"kitting/packing.py", "kitting/withdrawing.py"},
    "Package": {"kitting/packing.py"},
}
WRITES = {
    "create",
    "bulk_create",
    "get_or_create",
    "update_or_create",
    "update",
    "bulk_update",
    "delete",
    "acreate",
    "aupdate",
}


def room_faults(room: str) -> list[str]:
    own, allowed = room.replace("/", "."), ROOMS[room] | sys.stdlib_module_names
    return [
        f"{name_of(path)}:{line} imports {name}"
        for path in sources(room)
        for line, name in imports(path)
        if not (name == own or name.startswith(f"{own}.") or name.split(".")[0] in allowed)
    ]


@pytest.mark.parametrize("room", ROOMS)
def test_a_pure_room_imports_itself_and_its_listed_libraries(room: str) -> None:
    """Pure rooms know neither Django nor each other."""
    assert sources(room)
    assert room_faults(room) == []


def test_the_lower_house_never_looks_up() -> None:
    """Nothing in inventory imports kitting or names one of its models."""
    looking_up = [
        f"{name_of(path)}:{line}"
        for path in sources("inventory")
        for line, name in [*imports(path), *texts(path)]
        if re.match(r"kitting(\.|$)", name)
    ]

    assert looking_up == []


def root_name(node: ast.expr) -> str:
    """`Unit` of `Unit.objects.filter(...)` and of `things.Unit.objects`; "" for anything else."""
    chain: list[str] = []
    while isinstance(node, ast.Attribute | ast.Call):
        if isinstance(node, ast.Attribute):
            chain.append(node.attr)
            node = node.value
        else:
            node = node.func
    if isinstance(node, ast.Name):
        chain.append(node.id)
    return next((name for name in reversed(chain) if name[:1].isupper()), "")


def written(node: ast.AST) -> str:
    """The model whose rows this piece of code makes or changes, "" for none."""
    if not isinstance(node, ast.Call):
        return ""
    if isinstance(node.func, ast.Attribute) and node.func.attr in WRITES:
        return root_name(node.func.value)
    called = node.func.attr if isinstance(node.func, ast.Attribute) else ""
    called = node.func.id if isinstance(node.func, ast.Name) else called
    return called if called in WRITERS else ""


@pytest.mark.parametrize("model", WRITERS)
def test_rows_of_the_ledger_have_one_writer(model: str) -> None:
    """Events, stock, jobs and kits are written in one file each; a face never writes."""
    strangers = [
        f"{name_of(path)}:{node.lineno}"
        for path in sources("inventory", "kitting")
        if name_of(path) not in WRITERS[model] and imports_model(name_of(path), model)
        for node in ast.walk(parsed(path))
        if written(node) == model
    ]

    assert strangers == []


def imports_model(name: str, model: str) -> bool:
    """The file knows the Django model, not a plain value that bears the same name."""
    known = [full for _, full in imports(TOP / name)]
    return any(
        ".models" in full and (full.endswith(f".{model}") or full.rsplit(".", 1)[1].islower())
        for full in known
    )


def test_only_moving_changes_a_unit_s_place() -> None:
    """`unit.place = ...` and `update(place=...)` stand in the writers of stock alone."""
    strangers = [
        f"{name_of(path)}:{line}"
        for path in sources("inventory", "kitting")
        if name_of(path) not in WRITERS["Holding"]
        for line in place_changes(parsed(path))
    ]

    assert strangers == []


def place_changes(module: ast.Module) -> list[int]:
    lines = []
    for node in ast.walk(module):
        targets = node.targets if isinstance(node, ast.Assign) else []
        lines += [
            node.lineno
            for target in targets
            if isinstance(target, ast.Attribute) and target.attr in {"place", "place_id"}
        ]
        if (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Attribute)
            and node.func.attr == "update"
            and root_name(node.func.value) == "Unit"
        ):
            lines += [node.lineno for k in node.keywords if k.arg in {"place", "place_id"}]
    return lines


def test_no_statement_goes_round_the_writers() -> None:
    """SQL that changes a guarded table stands in no file but the writers'."""
    tables = "|".join(("event", "outcome", "movement", "containermove", "holding"))
    change = re.compile(rf"(insert\s+into|update|delete\s+from)\s+\"?inventory_({tables})\b", re.I)
    strangers = [
        f"{name_of(path)}:{line}"
        for path in sources("inventory", "kitting")
        if name_of(path) not in WRITERS["Event"] | WRITERS["Holding"]
        for line, text in texts(path)
        if change.search(text)
    ]

    assert strangers == []


@pytest.mark.parametrize(
    ("code", "model"),
    [
        ("Event.objects.create(x=1)", "Event"),
        ("things.Holding.objects.filter(a=1).update(b=2)", "Holding"),
        ("Movement(x=1).save()", "Movement"),
        ("Event.objects.filter(a=1).first()", ""),
        ("settings.update(a=1)", ""),
    ],
)
def test_the_search_for_writers_sees_each_form(code: str, model: str) -> None:
    """A row is written by a manager, a queryset or a constructor; reads are none of these."""
    found = {written(node) for node in ast.walk(ast.parse(code))} - {""}

    assert found == ({model} if model else set())


def test_top_level_holds_what_the_card_lists() -> None:
    """No further name stands at the top."""
    assert {name_of(path).split("/")[0] for path in files()} <= TOP_LEVEL


def test_no_name_says_nothing() -> None:
    """No folder or module is called utils, helpers, common, core, services or managers."""
    assert [
        name_of(path)
        for path in files()
        if EMPTY_WORDS & {part.split(".")[0] for part in path.relative_to(TOP).parts}
    ] == []


def test_packages_open_with_nothing() -> None:
    """Every __init__.py is empty; that of a models folder only gathers what Django must find."""
    for path in sources("inventory", "kitting", "tests"):
        if path.name == "__init__.py":
            body = parsed(path).body
            if path.parent.name == "models":
                plain = (ast.ImportFrom, ast.Expr, ast.Assign)
                assert all(isinstance(node, plain) for node in body), name_of(path)
            else:
                assert body == [], name_of(path)


def test_no_file_holds_a_registry_or_a_path_of_one_machine() -> None:
    """The tree installs from wherever its user installs from."""
    registries = ["pypi", "pythonhosted", "npmjs", "registry", "jsdelivr", "unpkg"]
    barred = re.compile(
        rf"https?://[\w.-]*({'|'.join(registries)})[\w.-]*|(?<![\w.])/(?:work|root|farm|home)/[\w.]"
    )
    found = []
    for path in files():
        if path.suffix in {".png", ".jpg", ".jpeg", ".pdf"}:
            continue
        text = path.read_text(encoding="utf-8", errors="replace")
        found += [f"{name_of(path)}: {match.group()}" for match in barred.finditer(text)]

    assert found == []


def test_the_curved_reader_is_never_called() -> None:
    """OpenCV's curved QR reader aborts the process and its barcode reader invents values."""
    names = re.compile(r"detectAndDecodeCurved|decodeCurved|barcode_BarcodeDetector")

    assert [
        name_of(path)
        for path in sources("inventory", "kitting")
        if names.search(path.read_text(encoding="utf-8"))
    ] == []
