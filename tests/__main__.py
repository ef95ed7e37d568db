"""`python -m tests`: lint, format, types and tests, stopping at the first failure."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

STEPS = (
    ("ruff", "check", "."),
    ("ruff", "format", "--check", "."),
    ("mypy",),
    ("pytest", "-n", "2", "--dist", "loadfile", "--no-loadscope-reorder"),
)


def main() -> int:
    """Exit code of the first step that fails, 0 when all pass."""
    root = Path(__file__).resolve().parent.parent
    for step in STEPS:
        print("==", " ".join(step), flush=True)
        code = subprocess.run([sys.executable, "-m", *step], cwd=root, check=False).returncode
        if code:
            return code
    return 0


if __name__ == "__main__":
    sys.exit(main())
