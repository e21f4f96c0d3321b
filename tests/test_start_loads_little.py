"""What takes long to load and is seldom needed is loaded when somebody asks for it, not at every start."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

SELDOM = ("alembic", "cv2", "dask", "ezdxf", "fpdf", "networkx", "pint", "pyshacl", "rdflib", "scipy")
ROOT = Path(__file__).parents[1]


def test_a_start_loads_none_of_the_large_libraries_that_few_requests_need(tmp_path: Path) -> None:
    """The service over a data folder that has been started before, as most starts are."""
    program = (
        "import sys\nfrom pathlib import Path\nimport api.__main__\nfrom api.service import opened_service\n"
        "from api.settings import Settings\n"
        "with opened_service(Path(sys.argv[1]), Settings()): pass\n"
        "print(*sorted({name.partition('.')[0] for name in sys.modules}))"
    )

    for _ in range(2):
        done = subprocess.run(
            [sys.executable, "-c", program, str(tmp_path)], cwd=ROOT, check=True, capture_output=True, text=True
        )

    loaded = set(done.stdout.split())
    assert "fastapi" in loaded
    assert loaded & set(SELDOM) == set()
