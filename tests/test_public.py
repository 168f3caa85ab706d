"""The public names of the library, held: what is there, where it comes from, and what importing it costs."""

import ast
import importlib
import inspect
import pkgutil
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import tapeloft.model as library
import tapeloft.shapes

ROOT = Path(__file__).parent.parent
NAMES = [
    "Areas",
    "Bay",
    "Boat",
    "BoxFound",
    "Capacity",
    "Compartment",
    "Examined",
    "FileError",
    "Fit",
    "Gear",
    "GeometryError",
    "Piece",
    "Problem",
    "Run",
    "Solid",
    "Survey",
    "SurveyError",
    "TapeloftError",
    "Turn",
    "UnknownName",
    "Volume",
    "areas_to_coat",
    "build",
    "cautions_for",
    "clear_runs",
    "examined",
    "exported",
    "filled_to",
    "fitted",
    "gear_asked",
    "height_of",
    "largest_box",
    "measured",
    "read_survey",
]


def test_these_and_no_others() -> None:
    assert library.__all__ == NAMES
    assert set(NAMES) <= set(dir(library))


@pytest.mark.parametrize("name", NAMES)
def test_each_is_what_its_module_defines_and_says_what_it_is(name: str) -> None:
    found = getattr(library, name)
    assert found is getattr(importlib.import_module(found.__module__), name)
    assert found.__module__.startswith("tapeloft.model.")
    assert inspect.getdoc(found)


def test_type_checkers_are_told_the_same_names() -> None:
    tree = ast.parse(inspect.getsource(library))
    (told,) = (node for node in tree.body if isinstance(node, ast.If))
    stated = {
        (alias.name, line.module) for line in told.body if isinstance(line, ast.ImportFrom) for alias in line.names
    }
    assert stated == {(name, getattr(library, name).__module__) for name in NAMES}


def test_no_name_is_a_module_too() -> None:
    """`import tapeloft.model.volume` sets `volume` on the package: a function of that name would be lost."""
    assert not {module.name for module in pkgutil.iter_modules(library.__path__)} & set(NAMES)


def test_an_unknown_name_is_refused() -> None:
    with pytest.raises(AttributeError, match="no attribute 'volume_of'"):
        library.volume_of  # noqa: B018


def fresh(code: str) -> str:
    return subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True).stdout


def test_importing_it_loads_nothing_else() -> None:
    loaded = fresh("import sys, tapeloft.model; print(*sys.modules)").split()
    assert not [name for name in loaded if name.startswith("tapeloft.") and name != "tapeloft.model"]
    assert not {"numpy", "manifold3d", "trimesh", "pyvista", "scipy", "numba"} & set(loaded)


def test_building_and_measuring_load_no_heavy_library() -> None:
    """What `tapeloft volume` needs and no more, so that it answers within a moment."""
    code = f"""
import sys
from tapeloft.model import areas_to_coat, build, measured, read_survey
for survey in read_survey({str(Path(tapeloft.shapes.__path__[0]) / "demo")!r}).compartments:
    locker = build(survey)
    measured(locker), areas_to_coat(locker)
print(*sys.modules)
"""
    assert not {"trimesh", "pyvista", "scipy", "numba", "vtkmodules", "shapely"} & set(fresh(code).split())


@pytest.mark.usefixtures("warmed")
def test_the_example_in_the_readme_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    (example,) = [part.split("```")[0] for part in text.split("```python\n")[1:]]
    shutil.copytree(Path(tapeloft.shapes.__path__[0]) / "demo", tmp_path / "saltmarsh-heron")
    monkeypatch.chdir(tmp_path)
    printed: list[str] = []
    exec(compile(example, "README.md", "exec"), {"print": printed.append})
    assert printed[0] == "1287.9 l net, of 1422.6 l gross"  # adjusted by her check tapes; as taped 1288.9 of 1423.8
    assert printed[-1].startswith("largest box ")
