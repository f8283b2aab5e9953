"""A STEP file as text: our own header and names, colours in a fixed order, and what can be told of it without a kernel.

The kernel writes the geometry and the tree. The rest is done here: its header carries the time of day, its counters run on within a
process, its colours come in the order of pointers, and a name that is long or not ASCII comes out broken. Statements are as in
ISO 10303-21, `#12 = KEYWORD(...);`; colours as in AP214 (ISO 10303-214): a styled item for each coloured solid, in one presentation
representation for each context.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from generator.kernel.messages import Colour

#: Any other time of day would make two runs differ; this one cannot be mistaken for when the file was made.
FIXED_TIME = "1970-01-01T00:00:00"

_NUMBER = re.compile(r"^#(\d+) = ", re.MULTILINE)
_REFERENCE = re.compile(r"#(\d+)")
_STRING = re.compile(r"'((?:[^']|'')*)'")
_HEADER = re.compile(r"\AISO-10303-21;\nHEADER;\n(.*?)ENDSEC;\nDATA;\n", re.DOTALL)
_KEPT = (
    "PRODUCT",
    "PRODUCT_DEFINITION",
    "PRODUCT_DEFINITION_FORMATION",
    "PRODUCT_DEFINITION_SHAPE",
    "SHAPE_DEFINITION_REPRESENTATION",
    "ADVANCED_BREP_SHAPE_REPRESENTATION",
    "MANIFOLD_SOLID_BREP",
    "NEXT_ASSEMBLY_USAGE_OCCURRENCE",
)
_STATEMENT = re.compile(rf"^#(\d+) = ({'|'.join(_KEPT)}) ?(\([^';]*(?:'[^']*'[^';]*)*);\n", re.MULTILINE)
END = "ENDSEC;\nEND-ISO-10303-21;\n"  #: how a whole file ends


class StepTextError(ValueError):
    """The text is not what the kernel is known to write, or not what was asked for."""


@dataclass(frozen=True, kw_only=True)
class Instance:
    """One product placed in another."""

    name: str
    product: str
    parent: str


@dataclass(frozen=True, kw_only=True)
class _Statement:
    """One statement of a STEP file."""

    number: int
    keyword: str
    arguments: str

    @property
    def references(self) -> list[int]:
        return [int(n) for n in _REFERENCE.findall(_STRING.sub("", self.arguments))]

    @property
    def strings(self) -> list[str]:
        return [decoded(s) for s in _STRING.findall(self.arguments)]


def decoded(string: str) -> str:
    r"""A string of ISO 10303-21 as it reads: doubled quotes, `\X2\00E9\X0\` escapes, and lines broken inside it."""
    plain = string.replace("\n", "").replace("''", "'")
    plain = re.sub(r"\\X2\\((?:[0-9A-F]{4})+)\\X0\\", lambda m: bytes.fromhex(m[1]).decode("utf-16-be"), plain)
    plain = re.sub(r"\\X4\\((?:[0-9A-F]{8})+)\\X0\\", lambda m: bytes.fromhex(m[1]).decode("utf-32-be"), plain)
    return plain.replace("\\\\", "\\")


def encoded(text: str) -> str:
    r"""`text` as it stands between the quotes of a string of ISO 10303-21: `\X2\` within Unicode's first plane, `\X4\` beyond."""
    out = text.replace("\\", "\\\\").replace("'", "''")
    out = re.sub(r"[^ -~\U00010000-\U0010ffff]+", lambda m: f"\\X2\\{m[0].encode('utf-16-be').hex().upper()}\\X0\\", out)
    return re.sub(r"[\U00010000-\U0010ffff]+", lambda m: f"\\X4\\{m[0].encode('utf-32-be').hex().upper()}\\X0\\", out)


class StepText:
    """What the statements of one file say of its products."""

    def __init__(self, text: str) -> None:
        self._statements = {
            int(number): _Statement(number=int(number), keyword=keyword, arguments=arguments)
            for number, keyword, arguments in _STATEMENT.findall(text)
        }
        formation_product = {s.number: s.references[0] for s in self._of("PRODUCT_DEFINITION_FORMATION")}
        names = {s.number: s.strings[0] for s in self._of("PRODUCT")}
        self._definition_name = {s.number: names[formation_product[s.references[0]]] for s in self._of("PRODUCT_DEFINITION")}

    @property
    def products(self) -> list[str]:
        """In the order of the file."""
        return list(self._definition_name.values())

    @property
    def instances(self) -> list[Instance]:
        """In the order of the file."""
        found = []
        for s in self._of("NEXT_ASSEMBLY_USAGE_OCCURRENCE"):
            parent, child = s.references[:2]
            found.append(Instance(name=s.strings[1], product=self._definition_name[child], parent=self._definition_name[parent]))
        return found

    def solids(self) -> dict[str, tuple[list[int], int]]:
        """Product -> the numbers of its solids and of the context they stand in."""
        shapes = {s.number: s.references[0] for s in self._of("PRODUCT_DEFINITION_SHAPE")}
        found: dict[str, tuple[list[int], int]] = {}
        for s in self._of("SHAPE_DEFINITION_REPRESENTATION"):
            shape, representation = s.references
            body = self._statements.get(representation)
            name = self._definition_name.get(shapes[shape])
            if body is None or name is None or body.keyword != "ADVANCED_BREP_SHAPE_REPRESENTATION":
                continue
            *items, context = body.references
            breps = [i for i in items if i in self._statements and self._statements[i].keyword == "MANIFOLD_SOLID_BREP"]
            found[name] = (breps, context)
        return found

    def _of(self, keyword: str) -> Iterator[_Statement]:
        return (s for s in self._statements.values() if s.keyword == keyword)


def finished(text: str, *, file_name: str, names: Mapping[str, str], colours: Mapping[str, Colour]) -> str:
    """The file as the kernel wrote it without colours, with a fixed header, counters from 1, real names and `colours` by product.

    Args:
        names: the name under which the kernel knew a product or an instance -> its real name.

    Raises:
        StepTextError: the text is not of the form the kernel is known to write, or a product named in `colours` has no one solid.
    """
    text = text.replace("\r\n", "\n")
    header = _HEADER.match(text)
    if header is None or not text.endswith(END):
        raise StepTextError("the kernel's STEP file has not the form expected of it")
    body = _named(text[header.end() : -len(END)], names)
    solids = StepText(body).solids()
    number = max(int(n) for n in _NUMBER.findall(body)) + 1
    tail: list[str] = []
    for product, colour in colours.items():
        breps, context = solids.get(product, ([], 0))
        if len(breps) != 1:
            raise StepTextError(f"product '{product}' has {len(breps)} solids in the STEP file where one was asked for")
        tail += _styled(number, breps[0], context, colour)
        number += len(_styled(number, breps[0], context, colour))
    return f"ISO-10303-21;\n{_header(header[1], file_name)}DATA;\n{body}" + "".join(tail) + END


def refuse_other(text: str, *, products: Sequence[str], instances: Sequence[Instance], colours: Mapping[str, Colour]) -> None:
    """Raise `StepTextError` unless `text` holds exactly these products, instances and as many coloured solids, in any order."""
    found = StepText(text)
    if sorted(found.products) != sorted(products):
        raise StepTextError(f"the STEP file holds {len(found.products)} products under other names than the {len(products)} asked for")
    key = _instance_key
    if sorted(found.instances, key=key) != sorted(instances, key=key):
        asked = f"the {len(instances)} asked for"
        raise StepTextError(f"the STEP file places {len(found.instances)} instances, which are not {asked}, or are named otherwise")
    if text.count(" = STYLED_ITEM(") != len(colours):
        raise StepTextError(f"the STEP file colours {text.count(' = STYLED_ITEM(')} solids where {len(colours)} were asked for")


def _instance_key(instance: Instance) -> tuple[str, str, str]:
    return instance.parent, instance.product, instance.name


def _named(body: str, names: Mapping[str, str]) -> str:
    """Real names, and numbers of placed items from 1, whatever the process wrote before; each such statement on one line."""
    count = 0

    def renamed(found: re.Match[str]) -> str:
        nonlocal count
        _, keyword, arguments = found.groups()
        if keyword not in ("PRODUCT", "NEXT_ASSEMBLY_USAGE_OCCURRENCE"):
            return found[0]
        first, second, *others = (decoded(s) for s in _STRING.findall(arguments))
        if keyword == "NEXT_ASSEMBLY_USAGE_OCCURRENCE":
            count += 1
            first = str(count)
        elif first in names:
            first = names[first]
        if second not in names:
            raise StepTextError(f"the kernel names something '{second}' that was not asked for")
        strings = iter((first, names[second], *others))
        arguments = _STRING.sub(lambda _: f"'{encoded(next(strings))}'", arguments.replace("\n", ""))
        return f"#{found[1]} = {keyword}{arguments};\n"

    return _STATEMENT.sub(renamed, body)


def _header(kernels: str, file_name: str) -> str:
    processors = re.search(r"'([^']*STEP processor[^']*)'", kernels)
    schema = re.search(r"FILE_SCHEMA\(.*?\);\n", kernels, re.DOTALL)
    if schema is None:
        raise StepTextError("the kernel's STEP file names no schema")
    processor = processors[1] if processors else ""
    return (
        "HEADER;\n"
        "FILE_DESCRIPTION((''),'2;1');\n"
        f"FILE_NAME('{encoded(file_name)}','{FIXED_TIME}',(''),(''),'{processor}','ladderframe','');\n"
        f"{schema[0]}"
        "ENDSEC;\n"
    )


def _styled(first: int, brep: int, context: int, colour: Colour) -> list[str]:
    n = first
    red, green, blue = (f"{c:.6f}" for c in (colour.red, colour.green, colour.blue))
    lines = [
        f"#{n} = MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION('',(#{n + 1}),#{context});\n",
        f"#{n + 1} = STYLED_ITEM('color',(#{n + 2}),#{brep});\n",
        f"#{n + 2} = PRESENTATION_STYLE_ASSIGNMENT((#{n + 3}));\n",
        f"#{n + 3} = SURFACE_STYLE_USAGE(.BOTH.,#{n + 4});\n",
        f"#{n + 5} = SURFACE_STYLE_FILL_AREA(#{n + 6});\n",
        f"#{n + 6} = FILL_AREA_STYLE('',(#{n + 7}));\n",
        f"#{n + 7} = FILL_AREA_STYLE_COLOUR('',#{n + 8});\n",
        f"#{n + 8} = COLOUR_RGB('',{red},{green},{blue});\n",
    ]
    if colour.opacity >= 1.0:
        lines.insert(4, f"#{n + 4} = SURFACE_SIDE_STYLE('',(#{n + 5}));\n")
        return lines
    lines.insert(4, f"#{n + 4} = SURFACE_SIDE_STYLE('',(#{n + 5},#{n + 9}));\n")
    return [
        *lines,
        f"#{n + 9} = SURFACE_STYLE_RENDERING_WITH_PROPERTIES(.NORMAL_SHADING.,#{n + 8},(#{n + 10}));\n",
        f"#{n + 10} = SURFACE_STYLE_TRANSPARENT({1.0 - colour.opacity:.6f});\n",
    ]
