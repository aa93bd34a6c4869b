"""The wheel, the sdist, an editable install and a bare checkout: each with the same levels."""

import json
import os
import re
import subprocess
import sys
import tarfile
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
LEVELS = sorted(file.stem for file in (ROOT / "levels").glob("*.toml"))


def run(*args: str | Path, cwd: Path | None = None, **env: str) -> str:
    surroundings = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "TRAINER"))}
    done = subprocess.run(
        [str(a) for a in args], cwd=cwd, env=surroundings | env, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def kept() -> list[str]:
    """What is under version control; unpacked from the sdist, all that was in it."""
    if (ROOT / ".git").exists():
        return [name for name in run("git", "ls-files", "-z", cwd=ROOT).split("\0") if name]
    made = {".venv", ".hypothesis", ".pytest_cache", ".ruff_cache", ".mypy_cache", "PKG-INFO"}
    tops = [top for top in ROOT.iterdir() if top.name not in made]
    files = [file for top in tops for file in (top.rglob("*") if top.is_dir() else [top]) if file.is_file()]
    return [str(file.relative_to(ROOT)) for file in files if "__pycache__" not in file.parts]


def checkout(to: Path) -> Path:
    """A copy of what is under version control, as a fresh clone has it."""
    for name in kept():
        if (ROOT / name).is_file():
            (to / name).parent.mkdir(parents=True, exist_ok=True)
            (to / name).write_bytes((ROOT / name).read_bytes())
    return to


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the sdist, and the wheel that is built from it."""
    source = checkout(tmp_path_factory.mktemp("source"))
    out = tmp_path_factory.mktemp("dist")
    run(sys.executable, "-m", "build", "--outdir", out, source)
    return out


def environment(folder: Path) -> Path:
    """A clean environment's Python."""
    venv.create(folder, with_pip=True)
    return folder / ("Scripts" if os.name == "nt" else "bin") / "python"


def levels_of(python: Path, data: Path, *, cwd: Path, **env: str) -> list[str]:
    out = run(python, "-m", "trainer", "levels", "--json", "--data", data, cwd=cwd, **env)
    return sorted(level["name"] for level in json.loads(out)["levels"])


@pytest.mark.slow
def test_the_wheel_and_the_sdist_are_complete(built: Path) -> None:
    (wheel,) = built.glob("*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    assert wheel.name.startswith("potting_angles-")
    assert sorted(Path(n).stem for n in names if n.startswith("trainer/levels/built_in/")) == LEVELS
    assert "trainer/app/trainer.tcss" in names
    assert "trainer/py.typed" in names
    assert "trainer/commands/serve/index.html" in names
    for name in ("addon-image.js", "addon-image.js.LICENSE.txt", "LICENSE"):
        assert f"trainer/commands/serve/addon-image/{name}" in names
    assert not any(n.startswith(("tests", "levels")) for n in names)
    (sdist,) = built.glob("*.tar.gz")
    with tarfile.open(sdist) as archive:
        inside = {n.split("/", 1)[1] for n in archive.getnames() if "/" in n}
    for wanted in (
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "trainer/cli.py",
        "trainer/commands/serve/addon-image/LICENSE",
        "tests/conftest.py",
        ".ci/run",
    ):
        assert wanted in inside
    assert {f"levels/{name}.toml" for name in LEVELS} <= inside


@pytest.mark.slow
def test_each_way_of_installing_gives_the_same_levels(built: Path, tmp_path: Path) -> None:
    """One after the other in one clean environment, so that what the trainer needs is fetched once."""
    python = environment(tmp_path / "env")
    command = python.with_name("trainer")
    (wheel,), (sdist,) = built.glob("*.whl"), built.glob("*.tar.gz")
    for what in ([wheel], [sdist], ["-e", checkout(tmp_path / "clone")]):
        # Modules are compiled where they are used: to do so with all of what numpy brings takes the longest.
        run(python, "-m", "pip", "install", "--quiet", "--no-compile", *what)
        run(python, "-m", "pip", "check")
        assert levels_of(python, tmp_path / "data", cwd=tmp_path) == LEVELS
        assert run(command, "--version", cwd=tmp_path).startswith("trainer ")
        bare = subprocess.run([command, "serve", "--port", "0"], capture_output=True, text=True, check=False)
        assert (bare.returncode, bare.stdout) == (1, "")
        assert re.fullmatch(r"trainer: serve needs \w+, which isn't installed.*\[web\]'.*\n", bare.stderr)
        question = run(command, "play", "--lines", "--data", tmp_path / "data", cwd=tmp_path).splitlines()[0]
        assert json.loads(question)["type"] == "question"
        run(python, "-m", "pip", "uninstall", "--quiet", "--yes", "potting-angles")
        assert not command.exists()


def test_a_bare_checkout_finds_its_levels(tmp_path: Path) -> None:
    clone = checkout(tmp_path / "clone")
    code = "from trainer.levels.shelf import open_shelf; print(*(one.name for one in open_shelf().levels))"
    assert sorted(run(sys.executable, "-c", code, cwd=clone, PYTHONPATH=str(clone)).split()) == LEVELS


def test_readme_opens_with_the_job_and_gives_two_commands_of_one_line() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    title, first = readme.split("\n\n")[:2]
    assert title.startswith("# ")
    assert "angle" in first
    commands = [line for line in readme.splitlines() if line.startswith("python3 -m venv")]
    assert len(commands) == 2
    assert commands[0].endswith(".venv/bin/trainer")
    assert commands[1].endswith("pytest")
    assert commands[1] in (ROOT / "README.md").read_text()
    assert "grep -m 1 'pytest$' README.md" in (ROOT / ".ci/run").read_text()


def test_the_level_in_readme_is_a_good_one() -> None:
    from trainer.levels.reading import read_level

    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    text = readme.split("```toml\n")[1].split("```")[0]
    assert read_level(text, "mine", "README.md").answers.choices == 7


def test_the_table_in_readme_is_a_good_one() -> None:
    from trainer.levels.table_file import read_table

    text = (ROOT / "README.md").read_text(encoding="utf-8").split("```toml\n")[2].split("```")[0]
    table = read_table(text, "ours", "README.md")
    assert table.corner == 84
    assert table.help == "both"
    assert table.stroke is not None


def test_the_top_level_holds_what_it_should() -> None:
    names = {name.split("/")[0] for name in kept()}
    visible = {name for name in names if not name.startswith(".")}
    assert visible == {"README.md", "DEVELOPERS.md", "pyproject.toml", "trainer", "levels", "tests"}
