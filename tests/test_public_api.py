"""The public names of `delivery` are typed, documented and loaded on use; the examples in its docstring run."""

from __future__ import annotations

import inspect
import subprocess
import sys
import textwrap
from importlib import resources
from pathlib import Path

import pytest
import soundfile

import delivery
from tests.albums import Song, write_album
from tests.signals import sine

EXAMPLES = [textwrap.dedent(block) for block in (delivery.__doc__ or "").split("\n\n") if block.startswith("    ")]


def test_every_public_name_exists_and_explains_itself() -> None:
    for name in delivery.__all__:
        member = getattr(delivery, name)
        assert name == "__version__" or callable(member)
        if inspect.isfunction(member):
            assert (member.__doc__ or "").strip(), name


def test_a_name_that_does_not_exist_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="no attribute 'master'"):
        _ = delivery.master


def test_names_of_the_table_are_those_that_type_checkers_see() -> None:
    """The lazy table and the imports for type checkers list the same names."""
    source = Path(delivery.__file__).read_text(encoding="utf-8")
    seen = {line.split(" import ")[1].split(" as ")[0] for line in source.splitlines() if line.startswith("    from ")}
    assert seen == set(delivery.__all__) - {"__version__"}


def test_the_package_is_marked_as_typed() -> None:
    assert resources.files("delivery").joinpath("py.typed").is_file()


def test_importing_the_package_imports_nothing_else() -> None:
    script = "import sys; before = set(sys.modules); import delivery; print(sorted(set(sys.modules) - before))"
    done = subprocess.run([sys.executable, "-c", script], check=True, capture_output=True, text=True)
    assert "numpy" not in done.stdout
    assert "delivery.meters" not in done.stdout


def test_the_examples_of_the_docstring_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "album").mkdir()
    write_album(tmp_path / "album", [Song("One"), Song("Two", seed=2)], ["cd-rate-16"])
    soundfile.write(tmp_path / "Low Water.wav", 0.25 * sine(997, 44_100, 3), 44_100, "PCM_24")
    monkeypatch.chdir(tmp_path)
    assert len(EXAMPLES) == 3
    known: dict[str, object] = {}
    for example in EXAMPLES:
        exec(compile(example, "<docstring of delivery>", "exec"), known)
    built = known["built"]
    assert isinstance(built, delivery.Built)
    assert built.package is not None
    assert delivery.verify(built.package).whole


def test_one_file_is_judged_by_its_sound_alone(tmp_path: Path) -> None:
    """A 24-bit file at 44.1 kHz for a spec of 16 bits: not met as it is, and one step of dither away from it."""
    path = tmp_path / "master.wav"
    soundfile.write(path, 0.25 * sine(997.3, 44_100, 3), 44_100, "PCM_24")
    spec, measurement = delivery.load_spec("cd-rate-16"), delivery.measure(str(path))
    answers = {finding.rule: finding.answer for finding in delivery.judge(spec, measurement)}
    assert answers["bits"] is delivery.Answer.NOT_MET
    assert "isrc" not in answers
    assert [step.kind for step in delivery.plan(spec, measurement).steps] == [delivery.StepKind.REQUANTISE]
