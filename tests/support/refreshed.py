"""The program that makes the samples and the README's references again, for the tests that run it."""

import importlib.util
from pathlib import Path
from types import ModuleType

ROOT = Path(__file__).parents[2]


def refresh_samples() -> ModuleType:
    """The module `tests/refresh_samples.py`."""
    spec = importlib.util.spec_from_file_location("refresh_samples", ROOT / "tests" / "refresh_samples.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
