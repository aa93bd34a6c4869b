"""What a cold start imports, and what it costs: packages, modules, seconds.

    .venv/bin/python tests/benchmarks/bench_imports.py           # a line a start, its packages
    .venv/bin/python tests/benchmarks/bench_imports.py --own     # each module of the trainer's own, too

Seconds are what the interpreter says of each package's modules (``-X importtime``), those within them counted
once; a start under that option is slower than another.
"""

import argparse
import re
import subprocess
import sys
import tempfile
from pathlib import Path

LINE = re.compile(r"import time:\s*(\d+) \|\s*\d+ \|\s*([\w.]+)")
# What starts; whatever reads from a terminal is given one in another process.
STARTS: dict[str, list[str]] = {
    "python -c pass": ["-c", "pass"],
    "trainer --version": ["-m", "trainer", "--version"],
    "trainer --help": ["-m", "trainer", "--help"],
    "trainer today": ["-m", "trainer", "today"],
    "trainer play --lines": ["-m", "trainer", "play", "--lines", "--shots", "1"],
    "trainer report": ["-m", "trainer", "report"],
    "the game": ["-c", "import trainer.app.app"],
}


def imported(argv: list[str], folder: str) -> list[tuple[str, float]]:
    """Each module in the order in which it was there, with its own seconds."""
    data = ["--data", folder] if "-m" in argv else []
    done = subprocess.run(
        [sys.executable, "-X", "importtime", *argv, *data],
        input="",
        capture_output=True,
        text=True,
        check=False,
    )
    return [(name, int(us) / 1e6) for us, name in LINE.findall(done.stderr)]


def package(module: str) -> str:
    """The package that a module belongs to; of Python's own all are one, of the trainer's its layer."""
    top, *rest = module.split(".")
    if top == "trainer":
        return ".".join([top, *rest[:1]])
    return "(Python's own)" if top in sys.stdlib_module_names else top


def main() -> None:
    """Print it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--own", action="store_true", help="name each module of the trainer's own")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        for name, argv in STARTS.items():
            found = imported(argv, str(Path(place) / "data"))
            print(f"{name}: {len(found)} modules, {sum(s for _, s in found):.3f} s")
            costs: dict[str, list[float]] = {}
            for module, own in found:
                costs.setdefault(package(module), []).append(own)
            for one, each in sorted(costs.items(), key=lambda cost: -sum(cost[1])):
                print(f"    {sum(each):6.3f} s  {len(each):4d}  {one}")
            if args.own:
                for module, own in found:
                    if module.startswith("trainer"):
                        print(f"        {own:6.4f} s  {module}")


if __name__ == "__main__":
    main()
