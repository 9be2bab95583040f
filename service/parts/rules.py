"""What is true of designs, versions and shapes without asking a database."""

from __future__ import annotations

import enum


class PartKind(enum.StrEnum):
    """What a part is, printed or bought."""

    PALM = "palm"
    FINGER = "finger"
    THUMB = "thumb"
    WRIST_COUPLING = "wrist_coupling"
    FOREARM = "forearm"
    SOCKET = "socket"
    COVER = "cover"
    TOOL_HOLDER = "tool_holder"
    TERMINAL_DEVICE = "terminal_device"
    HARNESS = "harness"
    STRAP = "strap"
    LINE = "line"
    ELASTIC = "elastic"
    FASTENER = "fastener"
    LINER = "liner"
    MOTOR = "motor"
    BOARD = "board"
    BATTERY = "battery"
    OTHER = "other"

    @property
    def label(self) -> str:
        """The word on a screen."""
        return self.value.replace("_", " ")


class Digit(enum.StrEnum):
    """A digit of the hand."""

    THUMB = "thumb"
    INDEX = "index"
    MIDDLE = "middle"
    RING = "ring"
    LITTLE = "little"


class VersionState(enum.StrEnum):
    """Where a version stands."""

    DRAFT = "draft"
    RELEASED = "released"
    WITHDRAWN = "withdrawn"


class ShapeMethod(enum.StrEnum):
    """How the shape of a limb was taken."""

    CAST = "cast"
    SCAN = "scan"


class CheckItem(enum.StrEnum):
    """What a part needs looked at on the bench before it is worn."""

    SHARP_EDGES = "sharp_edges"
    LAYERS = "layers"
    FASTENERS = "fasteners"
    CAPTIVE_PINS = "captive_pins"
    LINE_PULL = "line_pull"
    PINCH_POINTS = "pinch_points"
    EDGE_RADIUS = "edge_radius"
    HEAT = "heat"
    BATTERY = "battery"
    LABEL = "label"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return self.value.replace("_", " ")
