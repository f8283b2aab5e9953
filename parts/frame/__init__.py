"""The frame model: rails, what they carry, named places, faces."""

from parts.frame.frame import Frame
from parts.frame.rail import Rail

__all__ = ["Frame", "Rail"]
