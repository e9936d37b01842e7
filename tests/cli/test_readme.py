"""What the README shows is what happens."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.conftest import RunRoof3d


def blocks(root: Path, language: str) -> list[str]:
    """Fenced blocks of one language, in order."""
    text = (root / "README.md").read_text(encoding="utf-8")
    return re.findall(rf"^```{language}\n(.*?)^```$", text, flags=re.MULTILINE | re.DOTALL)


def shown_outputs(root: Path) -> list[tuple[str, str]]:
    """Each command whose output is shown, with that output."""
    text = (root / "README.md").read_text(encoding="utf-8")
    pattern = r"^<!-- output: roof3d (.*?) -->\n```text\n(.*?)^```$"
    return re.findall(pattern, text, flags=re.MULTILINE | re.DOTALL)


def test_shown_outputs_are_real(root: Path, roof3d_process: RunRoof3d) -> None:
    outputs = shown_outputs(root)
    assert [command.split()[0] for command, _ in outputs] == ["measure", "check"]
    for command, output in outputs:
        result = roof3d_process(*command.split(), folder=root)
        assert (result.returncode, result.stderr) == (0, "")
        assert result.stdout == output


def test_shown_start_of_an_output_is_real(root: Path, roof3d_process: RunRoof3d) -> None:
    text = (root / "README.md").read_text(encoding="utf-8")
    pattern = r"^<!-- start of output: roof3d (.*?) -->\n```text\n(.*?)^```$"
    ((command, start),) = re.findall(pattern, text, flags=re.MULTILINE | re.DOTALL)
    result = roof3d_process(*command.split(), folder=root)
    assert (result.returncode, result.stderr) == (0, "")
    assert result.stdout.startswith(start)
    assert len(start.splitlines()) > 10


def test_tables_and_catalog_of_the_readme_work(
    root: Path, tmp_path: Path, roof3d_process: RunRoof3d
) -> None:
    sketch, tables, catalog = blocks(root, "toml")
    top, sections = sketch.split("[[section]]", 1)
    model = f'{top}catalog = "ours.toml"\n{tables}\n[[section]]{sections}'
    model += '\n[[plane]]\nid = "house.north"\nassembly = "three-tab-coast"\n'
    (tmp_path / "house.toml").write_text(model, encoding="utf-8")
    (tmp_path / "ours.toml").write_text(catalog, encoding="utf-8")
    result = roof3d_process("takeoff", "house.toml", "--json")
    assert (result.returncode, result.stderr) == (0, "")
    document = json.loads(result.stdout)
    used = {item["material"] for item in document["items"]}
    wanted = {"three-tab-shingle", "laminated-shingle", "ice-barrier", "primer", "granule-cap"}
    assert wanted <= used
    assert "base-sheet" not in used
    assert "R3D-METHOD" in {finding["code"] for finding in document["findings"]}


def test_model_sketch_can_be_measured_and_has_a_transition(
    root: Path, tmp_path: Path, roof3d_process: RunRoof3d
) -> None:
    sketch = blocks(root, "toml")[0]
    (tmp_path / "sketch.toml").write_text(sketch, encoding="utf-8")
    result = roof3d_process("measure", "sketch.toml")
    assert (result.returncode, result.stderr) == (0, "")
    assert "\ntransition  1 in all" in result.stdout


def test_shown_faults_are_those_of_the_sketch_with_two_mistakes(
    root: Path, tmp_path: Path, roof3d_process: RunRoof3d
) -> None:
    sketch = blocks(root, "toml")[0]
    wrong = sketch.replace('"40 ft"', '"1,200 ft"').replace('"12 ft"\nat', "12\nat")
    (tmp_path / "house.toml").write_text(wrong, encoding="utf-8")
    result = roof3d_process("measure", "house.toml")
    shown = blocks(root, "text")[3]
    assert (result.returncode, result.stderr) == (2, shown)


def test_python_snippet_runs_and_prints_what_is_shown(root: Path) -> None:
    (snippet,) = blocks(root, "python")
    result = subprocess.run(
        [sys.executable, "-c", snippet], cwd=root, capture_output=True, encoding="utf-8", check=True
    )
    assert result.stdout == blocks(root, "text")[4]


def test_shell_commands_name_commands_that_there_are(root: Path) -> None:
    from roof3d.cli.app import app

    names = {command.callback.__name__ for command in app.registered_commands if command.callback}
    text = (root / "README.md").read_text(encoding="utf-8")
    shown = set(re.findall(r"(?:`|bin/|^|: )roof3d ([a-z]+)", text, flags=re.MULTILINE))
    assert shown == names


def test_the_install_command_names_the_extra_and_the_runner_of_ci(root: Path) -> None:
    install, tests, *_ = blocks(root, "sh")
    assert install == (
        "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/roof3d demo\n"
    )
    assert tests == ".venv/bin/pip install -e '.[test]' && .venv/bin/pytest\n"
    ci = (root / ".ci" / "run").read_text(encoding="utf-8")
    assert "pip install --quiet -e '.[test]'" in ci
    assert ci.rstrip().endswith("\npytest")


def test_pictures_and_pages_that_are_linked_are_there(root: Path) -> None:
    text = (root / "README.md").read_text(encoding="utf-8")
    links = {link for link in re.findall(r"\]\(([^)]+)\)", text) if "://" not in link}
    assert {link for link in links if not (root / link).is_file()} == set()


def test_package_settings_say_the_same_as_the_readme(root: Path) -> None:
    settings = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))
    text = (root / "README.md").read_text(encoding="utf-8")
    least = settings["project"]["requires-python"].removeprefix(">=")
    assert f"Python {least} or newer" in text
