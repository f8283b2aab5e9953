"""Writes a few files into a folder that is new or empty, for what is the user's own from then on. No manifest, never a second time."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from generator import output_swap
from generator.output_folder import MARKER, PROGRAM, Place, cannot_write, remove
from generator.output_lock import locked

NO_MANIFEST = MARKER  #: no set of files lists itself here


def write_new(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write `files` (plain names) into `folder`, all of them or none.

    Raises:
        CannotWrite: the folder holds something, or cannot be written.
    """
    place = Place.of(folder, NO_MANIFEST)
    holding = place.check()
    if holding.entries:
        raise place.refuse("it is not empty; give the name of a new folder")
    staging = place.staging(os.getpid())
    try:
        with locked(place):
            staging.mkdir()
            try:
                _fill(staging, files)
                output_swap.take_empty(staging, place.real)
            finally:
                if staging.exists():
                    remove(staging, NO_MANIFEST)
    except OSError as error:
        raise cannot_write(error, place.shown) from error


def _fill(staging: Path, files: Mapping[str, bytes]) -> None:
    (staging / MARKER).write_bytes(f"{PROGRAM} {os.getpid()}\n".encode())
    for name, data in files.items():
        with (staging / name).open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
    (staging / MARKER).unlink()
    output_swap.settle(staging)
