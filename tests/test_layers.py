"""Which layer may import which, read off the source and off what is really loaded."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import trainer

LAYERS = (
    *("names", "geometry", "shots", "learner", "drills", "levels", "history", "settings", "pictures"),
    *("play", "report", "app", "simulate", "commands", "arguments", "cli"),
)
ROOT = Path(trainer.__file__).parent
SERVER = ROOT / "commands" / "serve" / "server.py"
SERVING = (
    "textual_serve",
    "aiohttp",
    "socket",
    "socketserver",
    "http",
    "urllib",
    "ssl",
)  # a network, that is
FILES = sorted(ROOT.rglob("*.py"))


def imports(file: Path) -> list[str]:
    found = []
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            found += [f"{'.' * node.level}{node.module}.{alias.name}" for alias in node.names]
    return found


def layer_of(file: Path) -> str:
    return file.relative_to(ROOT).parts[0].removesuffix(".py")


def fault(file: Path, name: str) -> str | None:
    """What is wrong with a module's import of this name."""
    layer = layer_of(file)
    top, *rest = name.split(".")
    if not top:
        return "is relative"
    if top in ("textual", "rich") and layer != "app":
        return "is of the app's alone"
    if top in SERVING and file != SERVER:
        return f"is of {SERVER.name}'s alone"
    if top == "sqlite3" and layer != "history":
        return "is of the history's alone"
    if top == "trainer" and rest and rest[0] in LAYERS and LAYERS.index(rest[0]) > LAYERS.index(layer):
        return "is of a layer below"
    return None


def test_a_layer_imports_only_layers_above_it() -> None:
    faults = [
        f"{file.relative_to(ROOT)}: {name} {wrong}"
        for file in FILES
        if layer_of(file) not in ("__init__", "__main__")
        for name in imports(file)
        if (wrong := fault(file, name)) is not None
    ]
    assert not faults, "\n".join(faults)


@pytest.mark.parametrize(
    ("file", "name"),
    [
        ("drills/aim.py", "trainer.history.store.History"),
        ("play/game.py", "textual.app.App"),
        ("play/game.py", ".digest"),
        ("settings/settings.py", "sqlite3"),
        ("commands/serve.py", "socket"),
        ("history/store.py", "aiohttp.web"),
    ],
)
def test_what_no_layer_may_import_is_found(file: str, name: str) -> None:
    assert fault(ROOT / file, name)


def test_every_layer_is_there_and_nothing_else() -> None:
    assert {layer_of(f) for f in FILES} - {"__init__", "__main__"} == set(LAYERS)


@pytest.mark.parametrize(
    "module", ["trainer.play.game", "trainer.commands", "trainer.pictures.plan", "trainer.history.store"]
)
def test_nothing_but_the_app_loads_textual(module: str) -> None:
    code = f"import sys, {module}; sys.exit(any(m.split('.')[0] in ('textual', 'rich') for m in sys.modules))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize("module", ["trainer.cli", "trainer.commands.serve", "trainer.app.app"])
def test_nothing_but_the_server_loads_the_extra(module: str) -> None:
    code = f"import sys, {module}; sys.exit(bool({{'textual_serve', 'aiohttp'}} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def public(body: list[ast.stmt]) -> list[ast.FunctionDef | ast.ClassDef]:
    kinds = (ast.FunctionDef, ast.ClassDef)
    return [node for node in body if isinstance(node, kinds) and not node.name.startswith("_")]


def test_every_public_name_is_documented() -> None:
    faults = []
    for file in FILES:
        tree, where = ast.parse(file.read_text(encoding="utf-8")), file.relative_to(ROOT)
        faults += [f"{where}: the module"] * (not ast.get_docstring(tree))
        for node in public(tree.body):
            faults += [f"{where}: {node.name}"] * (not ast.get_docstring(node))
            if isinstance(node, ast.ClassDef) and not node.bases:  # else its base says what a method does
                methods = [one for one in public(node.body) if not ast.get_docstring(one)]
                faults += [f"{where}: {node.name}.{one.name}" for one in methods]
    assert not faults, "\n".join(faults)
