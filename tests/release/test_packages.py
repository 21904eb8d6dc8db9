"""The wheel and the sdist: built from these sources, with what shall ship and nothing else."""

import subprocess
import sys
import tarfile
import zipfile
from email import message_from_string

import pytest

from benchrun.version import VERSION, build

LEFT_OUT = {"__pycache__", ".mypy_cache", ".ruff_cache", ".pytest_cache"}


def files_below(folder):
    """The files of a folder of the sources by their paths, what tools leave there taken out."""
    return {
        path.relative_to(folder).as_posix()
        for path in folder.rglob("*")
        if path.is_file() and not LEFT_OUT & set(path.parts) and not path.name.startswith(".lock")
    }


@pytest.fixture(scope="module")
def built(root, tmp_path_factory):
    out = tmp_path_factory.mktemp("dist")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-d", str(out)],
        cwd=root,
        check=True,
        capture_output=True,
    )
    return out


@pytest.fixture(scope="module")
def wheel(built):
    (path,) = built.glob("*.whl")
    with zipfile.ZipFile(path) as file:
        yield file


def test_the_wheel_holds_the_program_its_procedures_and_samples_and_nothing_else(wheel, root):
    meant = {f"benchrun/{name}" for name in files_below(root / "benchrun")}
    for name in ("procedures", "samples"):
        meant |= {f"benchrun/shipped/{name}/{one}" for one in files_below(root / name)}
    about = f"benchrun-{VERSION}.dist-info"
    meant |= {f"{about}/{name}" for name in ("METADATA", "WHEEL", "RECORD", "entry_points.txt")}
    meant.add(f"{about}/licenses/LICENSE")
    found = set(wheel.namelist())
    assert (meant - found, found - meant) == (set(), set())


def test_the_wheel_says_what_it_is_and_under_which_licence(wheel):
    about = f"benchrun-{VERSION}.dist-info"
    data = message_from_string(wheel.read(f"{about}/METADATA").decode())
    assert (data["Name"], data["Version"], data["License-Expression"]) == (
        "benchrun",
        VERSION,
        "MIT",
    )
    assert data["Requires-Python"] == ">=3.11"
    licence = wheel.read(f"{about}/licenses/LICENSE").decode()
    assert "the benchrun contributors" in licence
    assert b"benchrun = benchrun.cli:main" in wheel.read(f"{about}/entry_points.txt")


def test_the_sdist_holds_what_the_tests_need(built, root):
    (path,) = built.glob("*.tar.gz")
    with tarfile.open(path) as file:
        found = {name.partition("/")[2] for name in file.getnames()}
    meant = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "PKG-INFO"}
    for name in ("benchrun", "procedures", "samples", "tests"):
        meant |= {f"{name}/{one}" for one in files_below(root / name)}
    assert (meant - found, found - meant - {".gitignore"}) == (set(), set())


def test_the_wheel_is_the_same_build_as_its_sources(wheel, tmp_path):
    for name in wheel.namelist():
        wheel.extract(name, tmp_path)
    code = "from benchrun.version import program; print(program())"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True
    )
    assert done.stdout == f"benchrun {VERSION} build {build()}\n"
    changed = tmp_path / "benchrun" / "errors.py"
    changed.write_text(changed.read_text() + "\n")
    other = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True
    )
    assert other.stdout != done.stdout
