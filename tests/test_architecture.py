"""Who may import whom, where heavy imports live, who writes files, how long a file may be: read from the sources, nothing is run."""

from __future__ import annotations

import ast
import sys
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
    ENGINE: "files job demo kernel shell dxf dxf_tags draw show record child child_side "
    "output output_swap output_folder output_lock output_new",
    STAGE: "kit cutting solids manifest tables kinds cautions survey driveline fit rules nest stiffness weld templates report",
    PIPELINE: "pipeline starter",
    DOOR: "cli entry",
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
TEST_TOOLS = ("pytest", "hypothesis", "pyogrio", "cascadio", "steputils", "gmsh", "shapely", "mypy", "ruff")

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
each_source = pytest.mark.parametrize("source", SOURCES, ids=lambda s: s.path)


def room(path: str) -> str:
    """`generator/files/toml.py` -> `files`; `generator/dxf.py` -> `dxf`; "" for the package itself."""
    name = path.split("/")[1].removesuffix(".py")
    return "" if name == "__init__" else name


def test_the_two_packages_are_read() -> None:
    paths = {s.path for s in SOURCES}
    assert {"parts/sheet.py", "generator/pipeline.py", "generator/cli.py"} <= paths


@each_source
def test_parts_never_imports_generator(source: Source) -> None:
    if source.path.startswith("parts/"):
        assert [i for i in source.imports if i.module.split(".")[0] == "generator"] == []


@each_source
def test_a_room_imports_only_from_its_own_floor_or_below(source: Source) -> None:
    if not source.path.startswith("generator/") or not (here := room(source.path)):
        return
    assert here in FLOORS, f"place the room {here!r} on a floor in {__file__}"
    for found in source.imports:
        names = found.module.split(".")
        if names[0] != "generator" or len(names) == 1:
            continue
        there = names[1]
        assert there in FLOORS, f"{source.path}:{found.line} imports generator.{there}, which is on no floor"
        assert FLOORS[there] <= FLOORS[here], f"{source.path}:{found.line} reaches up to generator.{there}"
        if FLOORS[here] == STAGE:
            assert there == here or FLOORS[there] < STAGE, f"{source.path}:{found.line}: a stage imports the stage {there}"


@each_source
def test_heavy_imports_have_one_home(source: Source) -> None:
    for found in source.imports:
        top = found.module.split(".")[0]
        assert top not in HEAVY or source.path in HEAVY[top], f"{source.path}:{found.line} imports {top}"
        assert top not in TEST_TOOLS, f"{source.path}:{found.line} imports {top}, which only tests may"
        if top in INSIDE_A_FUNCTION.get(source.path, ()):
            assert found.inside or found.for_types, f"{source.path}:{found.line}: {top} at a module's top loads with every command"


@each_source
def test_every_import_is_ours_declared_or_the_standard_library(source: Source) -> None:
    declared = {"parts", "generator", "cadquery", "OCP", "click", "ezdxf", "numpy"}
    for found in source.imports:
        top = found.module.split(".")[0]
        assert top in declared or top in sys.stdlib_module_names, f"{source.path}:{found.line} imports {top}, which pyproject.toml lacks"


def _writes(node: ast.AST) -> str | None:
    if not isinstance(node, ast.Call):
        return None
    text = ast.unparse(node.func)
    name = text.rsplit(".", 1)[-1]
    if name in WRITING_METHODS and "." in text:
        return text
    if text.startswith("os.") and name in WRITING_OS_CALLS:
        return text
    if name in ("open", "fdopen"):
        values = [a.value for a in [*node.args, *(k.value for k in node.keywords)] if isinstance(a, ast.Constant)]
        short = [v for v in values if isinstance(v, str) and set(v) <= set("rwaxbt+U")]
        flags = any("O_WR" in ast.unparse(a) or "O_RDWR" in ast.unparse(a) or "O_CREAT" in ast.unparse(a) for a in node.args)
        if flags or any(set(m) & set("wax+") for m in short):
            return ast.unparse(node)
    return None


@each_source
def test_only_the_output_engine_and_the_kernel_write_files(source: Source) -> None:
    if source.path.startswith(WRITERS):
        return
    writes = [(n.lineno, w) for n in ast.walk(source.tree) if isinstance(n, ast.Call) and (w := _writes(n)) is not None]
    if source.path == "generator/child_side.py":  # the answers' pipe is a descriptor it was given
        writes = [w for w in writes if "os.dup(1)" not in w[1]]
    assert writes == []


@each_source
def test_only_the_door_prints(source: Source) -> None:
    if source.path in PRINTERS:
        return
    calls = [ast.unparse(n.func) for n in ast.walk(source.tree) if isinstance(n, ast.Call)]
    assert [c for c in calls if c in ("print", "sys.stdout.write", "sys.stderr.write", "click.echo")] == []


@each_source
def test_nothing_read_is_ever_executed(source: Source) -> None:
    calls = {ast.unparse(n.func) for n in ast.walk(source.tree) if isinstance(n, ast.Call)}
    assert calls & {"eval", "exec", "compile", "__import__", "os.system", "os.popen"} == set()


@each_source
def test_no_file_is_too_long(source: Source) -> None:
    lines = source.text.count("\n")
    longest = LONGEST.get(source.path, LONGEST_FILE)
    assert lines <= longest, f"{source.path} has {lines} lines, {longest} are allowed: split it by noun"


def test_the_pipeline_does_not_branch_on_content() -> None:
    """`if` in pipeline.py may ask what was asked for or whether a thing exists, never what a part or a finding says."""
    tree = next(s.tree for s in SOURCES if s.path == "generator/pipeline.py")
    tests = [ast.unparse(n.test) for n in ast.walk(tree) if isinstance(n, ast.If | ast.IfExp | ast.While)]
    words = ("family", ".kind", ".side", ".code", ".level", "isinstance", "thickness", ".name ==", ".id ==")
    assert [t for t in tests if any(w in t for w in words)] == []


@each_source
def test_generator_modules_state_what_they_are(source: Source) -> None:
    assert ast.get_docstring(source.tree), f"{source.path} has no docstring"
