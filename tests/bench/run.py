"""Run the benchmarks: ``python tests/bench/run.py [NAME ...] [--data DIR]``.

Each is a script of its own that prints ratios to a floor measured in the same run. Those
that need measured data take the folder that holds it by ``--data`` (see seed_data/README.md
for the data sets and their licences); without it they say so and are left out.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent


def main() -> int:
    """Run all benchmarks or those named; the exit code is the number that broke."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*", help="names of benchmarks; default all")
    parser.add_argument("--data", type=Path, help="folder with the measured data")
    asked = parser.parse_args()
    scripts = sorted(path for path in HERE.glob("*.py") if path.name != "run.py")
    broken = 0
    for script in scripts:
        if asked.names and script.stem not in asked.names:
            continue
        needs_data = "--data" in script.read_text("utf-8")
        if needs_data and asked.data is None:
            print(f"== {script.stem}: left out, needs --data DIR\n")
            continue
        print(f"== {script.stem}", flush=True)
        words = ["--data", str(asked.data)] if needs_data else []
        broken += subprocess.run([sys.executable, str(script), *words], check=False).returncode != 0
        print(flush=True)
    return broken


if __name__ == "__main__":
    sys.exit(main())
