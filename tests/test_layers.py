"""Which layer may import which, read off the source and off what is really loaded."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import trainer

LAYERS = (
    *("names", "geometry", "shots", "learner", "drills", "levels", "history", "settings", "pictures"),
    *("play", "report", "app", "simulate", "commands", "cli"),
)
ROOT = Path(trainer.__file__).parent
SERVER = ROOT / "commands" / "served" / "server.py"
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
            assert node.level == 0, f"{file}: relative import"
            found += [f"{node.module}.{alias.name}" for alias in node.names]
    return found


def layer_of(file: Path) -> str:
    return file.relative_to(ROOT).parts[0].removesuffix(".py")


@pytest.mark.parametrize("file", FILES, ids=lambda f: str(f.relative_to(ROOT)))
def test_a_layer_imports_only_layers_above_it(file: Path) -> None:
    layer = layer_of(file)
    if layer in ("__init__", "__main__"):
        return
    for name in imports(file):
        top, *rest = name.split(".")
        if top in ("textual", "rich"):
            assert layer == "app", f"{name} outside app"
        if top in SERVING:
            assert file == SERVER, f"{name} outside {SERVER.name}"
        if top == "sqlite3":
            assert layer == "history"
        if top == "trainer" and rest and rest[0] in LAYERS:
            assert LAYERS.index(rest[0]) <= LAYERS.index(layer), f"{layer} imports {name}"


@pytest.mark.parametrize("layer", LAYERS)
def test_every_layer_is_there_and_nothing_else(layer: str) -> None:
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


@pytest.mark.parametrize("file", FILES, ids=lambda f: str(f.relative_to(ROOT)))
def test_every_public_name_is_documented(file: Path) -> None:
    tree = ast.parse(file.read_text(encoding="utf-8"))
    assert ast.get_docstring(tree)
    for node in public(tree.body):
        assert ast.get_docstring(node), node.name
        if isinstance(node, ast.ClassDef) and not node.bases:  # else its base says what a method does
            for method in public(node.body):
                assert ast.get_docstring(method), f"{node.name}.{method.name}"
