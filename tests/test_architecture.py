"""Who may import whom, where heavy imports live, who writes files, how long a file may be: read from the sources, nothing is run."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
LONGEST_FILE = 400
LONGEST = {"generator/pipeline.py": 150}

# A room of `generator` -> the floor it is on. Lower floors never import higher ones. A new room fails below until it is placed here.
ENGINE, STAGE, PIPELINE, DOOR = range(4)
ROOMS: dict[int, str] = {
    ENGINE: "files job readings_file demo kernel shell dxf dxf_tags draw show inches record child child_side "
    "output output_swap output_folder output_lock output_new output_file",
    STAGE: "kit cutting solids manifest tables kinds cautions survey driveline fit adapt rules nest stiffness weld templates report",
    PIPELINE: "pipeline starter adapted surveyed",
    DOOR: "cli told entry",
}
FLOORS = {name: floor for floor, names in ROOMS.items() for name in names.split()}

# An import name -> the only files that may hold it. `inside` ones only within a function: importing the module must stay cheap.
HEAVY = {
    "cadquery": ("parts/solid.py", "generator/kernel/worker.py"),
    "OCP": ("parts/solid.py", "generator/kernel/worker.py"),
    "ezdxf": ("generator/dxf.py",),
    "click": ("generator/cli.py",),
    "subprocess": ("generator/child.py",),
    "pickle": ("generator/child.py", "generator/child_side.py"),
}
INSIDE_A_FUNCTION = {
    "parts/solid.py": ("cadquery", "OCP"),
    "generator/kernel/worker.py": ("cadquery", "OCP"),
}

WRITERS = ("generator/output", "generator/kernel/")  # the kernel's child writes inside the staging folder only
WRITING_METHODS = {
    "write_text", "write_bytes", "mkdir", "makedirs", "unlink", "rmdir", "rmtree", "removedirs", "rename", "renames", "symlink",
    "symlink_to", "hardlink_to", "touch", "truncate", "copyfile", "copy2", "copytree", "saveas",
}  # fmt: skip
WRITING_OS_CALLS = {"replace", "remove", "link", "mknod"}
PRINTERS = ("generator/cli.py", "generator/entry.py", "generator/child_side.py")


@dataclass(frozen=True, kw_only=True)
class Import:
    """One imported module, by its full name, and whether a function holds it."""

    module: str
    line: int
    inside: bool
    for_types: bool


@dataclass(frozen=True, kw_only=True)
class Source:
    path: str
    text: str
    tree: ast.Module

    @property
    def imports(self) -> list[Import]:
        return list(_imports(self.tree, inside=False, for_types=False))


def _imports(node: ast.AST, *, inside: bool, for_types: bool) -> Iterator[Import]:
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.Import):
            for alias in child.names:
                yield Import(module=alias.name, line=child.lineno, inside=inside, for_types=for_types)
        elif isinstance(child, ast.ImportFrom):
            assert child.level == 0, f"line {child.lineno}: imports are written in full"
            assert child.module is not None
            for alias in child.names:
                yield Import(module=f"{child.module}.{alias.name}", line=child.lineno, inside=inside, for_types=for_types)
        else:
            function = isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
            typing_only = isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test)
            yield from _imports(child, inside=inside or function, for_types=for_types or typing_only)


def sources() -> list[Source]:
    found = []
    for package in ("parts", "generator"):
        for path in sorted((ROOT / package).rglob("*.py")):
            text = path.read_text(encoding="utf-8")
            found.append(Source(path=path.relative_to(ROOT).as_posix(), text=text, tree=ast.parse(text)))
    return found


SOURCES = sources()


def room(path: str) -> str:
    """`generator/files/toml.py` -> `files`; `generator/dxf.py` -> `dxf`; "" for the package itself and for `parts`."""
    name = path.split("/")[1].removesuffix(".py")
    return "" if name == "__init__" or not path.startswith("generator/") else name


def calls_of(source: Source) -> list[ast.Call]:
    return [n for n in ast.walk(source.tree) if isinstance(n, ast.Call)]


def test_the_two_packages_are_read() -> None:
    paths = {s.path for s in SOURCES}
    assert {"parts/sheet.py", "generator/pipeline.py", "generator/cli.py"} <= paths


def test_every_room_is_on_a_floor() -> None:
    """Place a new room of `generator` in ROOMS above."""
    assert {room(s.path) for s in SOURCES} - FLOORS.keys() - {""} == set()


def test_parts_never_imports_generator() -> None:
    parts = [s for s in SOURCES if s.path.startswith("parts/")]
    assert [(s.path, i.line) for s in parts for i in s.imports if i.module.split(".")[0] == "generator"] == []


def test_a_room_imports_only_from_its_own_floor_or_below() -> None:
    reaching = []
    for source in SOURCES:
        here = room(source.path)
        for found in source.imports if here else ():
            names = found.module.split(".")
            if names[0] != "generator" or len(names) == 1 or names[1] == here:
                continue
            up = FLOORS[names[1]] > FLOORS[here]
            across = FLOORS[here] == FLOORS[names[1]] == STAGE
            if up or across:
                reaching.append(f"{source.path}:{found.line} imports generator.{names[1]}")
    assert reaching == []


def test_heavy_imports_have_one_home() -> None:
    astray = []
    for source in SOURCES:
        for found in source.imports:
            top = found.module.split(".")[0]
            inside = found.inside or found.for_types
            if top in HEAVY and source.path not in HEAVY[top]:
                astray.append(f"{source.path}:{found.line} imports {top}")
            if top in INSIDE_A_FUNCTION.get(source.path, ()) and not inside:
                astray.append(f"{source.path}:{found.line} imports {top} at the module's top: every command would load it")
    assert astray == []


def test_every_import_is_ours_declared_or_the_standard_library() -> None:
    declared = {"parts", "generator", "cadquery", "OCP", "click", "ezdxf", "numpy"}
    known = declared | sys.stdlib_module_names
    assert [f"{s.path}:{i.line} {i.module}" for s in SOURCES for i in s.imports if i.module.split(".")[0] not in known] == []


def test_the_test_extra_names_what_the_tests_import() -> None:
    """Else the README's test command would stop on a machine that has nothing else. tests/reference/gmsh has its own set-up."""
    extra = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["optional-dependencies"]["test"]
    known = {re.split(r"[<>=~!\[ ]", name)[0].replace("-", "_") for name in extra} | {"parts", "generator", "tests"}
    known |= {"cadquery", "OCP", "click", "ezdxf", "numpy"} | sys.stdlib_module_names
    missing = []
    for path in sorted((ROOT / "tests").rglob("*.py")):
        if "gmsh" not in path.parts:
            tree = ast.parse(path.read_text(encoding="utf-8"))
            found = _imports(tree, inside=False, for_types=False)
            missing += [f"{path.relative_to(ROOT)}:{i.line} {i.module}" for i in found if i.module.split(".")[0] not in known]
    assert missing == []


def _writes(call: ast.Call) -> str | None:
    text = ast.unparse(call.func)
    name = text.rsplit(".", 1)[-1]
    if text.startswith("staging."):  # the output engine's own
        return None
    if name in WRITING_METHODS and "." in text:
        return text
    if text.startswith("os.") and name in WRITING_OS_CALLS:
        return text
    if name in ("open", "fdopen"):
        whole = ast.unparse(call)
        values = [a.value for a in [*call.args, *(k.value for k in call.keywords)] if isinstance(a, ast.Constant)]
        modes = [v for v in values if isinstance(v, str) and set(v) <= set("rwaxbt+U")]
        flags = any(flag in whole for flag in ("O_WR", "O_RDWR", "O_CREAT"))
        if (flags and "os.devnull" not in whole) or any(set(m) & set("wax+") for m in modes):
            return whole
    return None


def test_only_the_output_engine_and_the_kernel_write_files() -> None:
    writes = [(s.path, c.lineno, w) for s in SOURCES if not s.path.startswith(WRITERS) for c in calls_of(s) if (w := _writes(c))]
    own_pipe = "os.fdopen(os.dup(1), 'wb')"  # the child's answers, on a descriptor that it was given
    assert [w for w in writes if (w[0], w[2]) != ("generator/child_side.py", own_pipe)] == []


@pytest.mark.parametrize(
    "code",
    ["p.write_text('x')", "open('x', 'w')", "p.open('ab')", "os.replace(a, b)", "shutil.rmtree(x)", "os.open(p, os.O_CREAT)", "p.touch()"],
)
def test_a_write_is_seen(code: str) -> None:
    call = ast.parse(code).body[0]
    assert isinstance(call, ast.Expr) and isinstance(call.value, ast.Call)
    assert _writes(call.value)


@pytest.mark.parametrize(
    "code", ["open(p)", "p.open('rb')", "text.replace('a', 'b')", "os.open(p, os.O_RDONLY)", "staging.write_bytes(n, d)"]
)
def test_what_is_no_write_is_not(code: str) -> None:
    call = ast.parse(code).body[0]
    assert isinstance(call, ast.Expr) and isinstance(call.value, ast.Call)
    assert _writes(call.value) is None


def test_only_the_door_prints() -> None:
    printing = {"print", "sys.stdout.write", "sys.stderr.write", "click.echo"}
    found = [(s.path, c.lineno) for s in SOURCES if s.path not in PRINTERS for c in calls_of(s) if ast.unparse(c.func) in printing]
    assert found == []


def test_nothing_read_is_ever_executed() -> None:
    running = {"eval", "exec", "compile", "__import__", "os.system", "os.popen"}
    assert [(s.path, c.lineno) for s in SOURCES for c in calls_of(s) if ast.unparse(c.func) in running] == []


def test_no_file_is_too_long() -> None:
    """Split it by noun before the next feature goes in."""
    lengths = {s.path: s.text.count("\n") for s in SOURCES}
    assert {path: n for path, n in lengths.items() if n > LONGEST.get(path, LONGEST_FILE)} == {}


def test_the_pipeline_does_not_branch_on_content() -> None:
    """`if` in pipeline.py may ask what was asked for or whether a thing exists, never what a part or a finding says."""
    tree = next(s.tree for s in SOURCES if s.path == "generator/pipeline.py")
    tests = [ast.unparse(n.test) for n in ast.walk(tree) if isinstance(n, ast.If | ast.IfExp | ast.While)]
    assert set(tests) <= {"TYPE_CHECKING", "solids"}


def test_every_module_states_what_it_is() -> None:
    assert [s.path for s in SOURCES if not ast.get_docstring(s.tree)] == []
