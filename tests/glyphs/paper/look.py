"""Where each pixel of a camera looks on a page: a pinhole, a lens, and a part of a cylinder.

Each pixel follows its ray back to the page, so that nothing here shares code or model with
the reader.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Real = NDArray[np.float64]


@dataclass(frozen=True)
class Look:
    """How a camera is held over a page, and how the page lies.

    Attributes
    ----------
    width, height
        Of the photograph, px.
    tilt_deg, around_deg
        How far it is from looking straight down, and to which side.
    turn_deg
        How far it is turned about its axis; 180 is upside down.
    bend_mm
        How high the middle of the page stands over its edges.
    bend_deg
        Direction across the bend; 0 bends the short side.
    distortion
        Radial, r**3 at the corner of the picture, as a share of half its diagonal.
    fills
        Share of the picture's width or height that the page takes.
    """

    width: int = 2400
    height: int = 3200
    tilt_deg: float = 0.0
    around_deg: float = 0.0
    turn_deg: float = 0.0
    bend_mm: float = 0.0
    bend_deg: float = 0.0
    distortion: float = 0.0
    fills: float = 0.92

    @property
    def focal_px(self) -> float:
        """Of the pinhole: a field of view of 47 degrees along the longer side."""
        return 1.15 * max(self.width, self.height)

    def rays(self, size_mm: tuple[float, float], rows: NDArray[np.intp]) -> Real:
        """Where on the flat sheet the pixels of some rows look: (2, rows, W), x and y in mm."""
        wide, high = size_mm
        axes = _turned(self.tilt_deg, self.around_deg, self.turn_deg)
        focal = self.focal_px
        u = np.arange(self.width) - (self.width - 1) / 2
        v = rows[:, None] - (self.height - 1) / 2
        half = np.hypot(self.width, self.height) / 2
        # What is seen at r came at r (1 + k r**2): its inverse is never needed.
        more = (1 + self.distortion * (u**2 + v**2) / half**2) / focal
        ray = np.stack(
            [u * more * right + v * more * down + ahead for right, down, ahead in axes.T]
        )
        start = -_distance_mm(self, size_mm) * axes[2]
        return self._landed(start, ray, wide, high)

    def _landed(self, start: Real, ray: Real, wide: float, high: float) -> Real:
        """Rays met with a part of a cylinder, laid flat again: exact, in closed form."""
        angle = np.deg2rad(self.bend_deg)
        across, along = (
            np.array([np.cos(angle), np.sin(angle)]),
            np.array([-np.sin(angle), np.cos(angle)]),
        )
        half = abs(across[0]) * wide / 2 + abs(across[1]) * high / 2
        if self.bend_mm == 0:
            reach = -start[2] / ray[2]
            x, y = start[0] + reach * ray[0], start[1] + reach * ray[1]
            return np.stack([x + wide / 2, y + high / 2])
        radius = (half**2 + self.bend_mm**2) / (2 * self.bend_mm)
        # The axis lies under the page (away from the camera, which is at z < 0).
        s0, d = start[:2] @ across, ray[0] * across[0] + ray[1] * across[1]
        t0, e = start[:2] @ along, ray[0] * along[0] + ray[1] * along[1]
        z0, dz = start[2] - radius, ray[2]
        a, b, c = d**2 + dz**2, s0 * d + z0 * dz, s0**2 + z0**2 - radius**2
        root = b**2 - a * c
        reach = np.where(root > 0, (-b - np.sqrt(np.maximum(root, 0))) / a, np.nan)
        s, z, t = s0 + reach * d, z0 + reach * dz, t0 + reach * e
        arc = radius * np.arctan2(s, -z)
        x, y = arc * across[0] + t * along[0], arc * across[1] + t * along[1]
        return np.nan_to_num(np.stack([x + wide / 2, y + high / 2]), nan=-1e4)


@lru_cache(maxsize=1)
def _distance_mm(look: Look, size_mm: tuple[float, float]) -> float:
    """The least distance from which all of the page is in the picture, with some air."""
    wide, high = size_mm
    axes = _turned(look.tilt_deg, look.around_deg, look.turn_deg)
    low, most = 50.0, 5000.0
    corners = np.array([[0, 0], [wide, 0], [wide, high], [0, high]]) - (wide / 2, high / 2)
    points = np.column_stack([corners, np.zeros(4)])
    reach = look.fills * np.array([look.width, look.height]) / 2
    for _ in range(60):
        middle = (low + most) / 2
        seen = (points + middle * axes[2]) @ axes.T
        fits = np.all(seen[:, 2] > 1) and np.all(
            np.abs(seen[:, :2] / seen[:, 2:] * look.focal_px) < reach
        )
        low, most = (low, middle) if fits else (middle, most)
    return most


def _turned(tilt_deg: float, around_deg: float, turn_deg: float) -> Real:
    """Rows: right, down and forward of the camera, in page axes (x right, y down, z away)."""
    tilt, around, turn = np.deg2rad([tilt_deg, around_deg, turn_deg])
    about_z = lambda a: np.array(  # noqa: E731
        [[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]]
    )
    about_x = np.array(
        [[1, 0, 0], [0, np.cos(tilt), -np.sin(tilt)], [0, np.sin(tilt), np.cos(tilt)]]
    )
    matrix: Real = about_z(turn) @ about_x @ about_z(-around)
    return matrix
