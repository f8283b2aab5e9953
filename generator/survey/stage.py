"""The stage: from a frame with its readings to what is known of it, what is not, the verdict, and what to do first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType
from typing import TYPE_CHECKING

from generator.survey.findings import NOT_MEASURED, findings
from generator.survey.readings import chosen_set, network_of, set_of
from generator.survey.todo import Step, steps
from parts.errors import BadInput, Finding
from parts.frame.frame import Frame
from parts.frame.measured import SectionReading, SurveySet
from parts.frame.names import unknown_place
from parts.sheet import Vec3

if TYPE_CHECKING:
    from generator.show import Section
    from generator.survey.adjust import Adjusted
    from generator.survey.damage import Damage
    from generator.survey.grow import Growth
    from generator.survey.measures import Measure
    from generator.survey.network import Network
    from generator.survey.pairs import Pair
    from generator.survey.snoop import Suspect
    from generator.survey.stands import Shim, Split
    from generator.survey.unknown import Unknown

UNCHECKED = 0.1  #: redundancy under which an error in a reading does not show; our choice


@dataclass(frozen=True, kw_only=True, eq=False)
class Survey:
    """What one set of readings says of a frame. Lengths in mm, in the datum of the frame file.

    Attributes:
        set: what is told of the set; None where nothing is.
        whole: all readings adjusted together; None where there are none.
        adjusted: the same without those that are not believed; the same object as `whole` where all are.
        points: control point -> (x, y, z), of those wholly determined up to where the datum lies.
        sigmas: of the same points, as wide as the readings disagree.
        heights: z of the points whose height was read.
        steps_of_twist: the twist that each bay adds.
        unchecked: readings that no other one checks.
        better: which reading, taken once more, would make a verdict possible.
    """

    frame: Frame
    set_name: str
    set: SurveySet | None
    network: Network
    whole: Adjusted | None = None
    adjusted: Adjusted | None = None
    suspects: tuple[Suspect, ...] = ()
    unknown: tuple[Unknown, ...] = ()
    unchecked: tuple[str, ...] = ()
    better: tuple[str, ...] = ()
    measures: tuple[Measure, ...] = ()
    steps_of_twist: tuple[Measure, ...] = ()
    growth: tuple[Growth, ...] = ()
    pairs: tuple[Pair, ...] = ()
    points: Mapping[str, Vec3] = field(default_factory=lambda: MappingProxyType({}))
    sigmas: Mapping[str, Vec3] = field(default_factory=lambda: MappingProxyType({}))
    heights: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    damage: tuple[Damage, ...] = ()
    split: Split | None = None
    shims: tuple[Shim, ...] = ()
    steps: tuple[Step, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def on_wheels(self) -> bool:
        return on_wheels(self.set)

    @cached_property
    def verdict_text(self) -> str:
        from generator.survey.sections import headline

        return headline(self.measures)

    @cached_property
    def off_drawing(self) -> Mapping[str, tuple[Vec3, Vec3]]:
        """Point -> (how far its place in the whole shape is off the drawn one, standard deviations of that); see `off_drawing`."""
        from generator.survey.off_drawing import off_drawing

        return {} if self.adjusted is None else off_drawing(self.frame.control_coordinates, self.points, self.adjusted)

    @cached_property
    def sections(self) -> tuple[Section, ...]:
        from generator.survey.sections import sections_of

        return sections_of(self)

    @property
    def told(self) -> tuple[Section, ...]:
        """The verdict in a sentence, for the stages that come after; nothing where nothing was read."""
        from generator.show import Section

        if self.adjusted is None:
            return ()
        return (Section(title=f"The frame as found, set '{self.set_name}'", notes=(self.verdict_text,)),)

    @property
    def section_readings(self) -> tuple[SectionReading, ...]:
        """The rails' sections as read in the same set."""
        return tuple(s for s in self.frame.section_readings if s.set == self.set_name)

    def deciding(self, suspect: Suspect) -> str:
        """The reading that would say which of a tied group is off; of a single one: itself, taken again."""
        from generator.survey.unknown import deciding

        return deciding(suspect, self.network)


def on_wheels(told: SurveySet | None) -> bool:
    return told is not None and any(s.kind == "wheel" for s in told.supports)


def survey(frame: Frame, set_name: str | None = None) -> Survey:
    """What the readings of a set say; of the last set of the frame as found or straightened, where none is named.

    Raises:
        BadInput: the frame has no set of that name.
    """
    from generator.survey.damage import damage, thicknesses
    from generator.survey.readings import set_names

    name = set_name if set_name is not None else chosen_set(frame)
    if set_name is not None and set_name not in set_names(frame):
        raise BadInput(unknown_place(set_name, set_names(frame), "the frame has no set of readings", field="set"))
    network = network_of(frame, name)
    thick = thicknesses(frame, name)
    worn = damage(frame, thick)
    if not network.observations and not network.held:
        told = findings(worn, (), thick)
        return Survey(
            frame=frame, set_name=name, set=set_of(frame, name), network=network, measures=thick, damage=worn,
            findings=(*told, NOT_MEASURED), steps=steps(worn, (), (), (), thick, {}),
        )  # fmt: skip
    from generator.survey.judge import judged

    return judged(frame, name, network, thick, worn)
