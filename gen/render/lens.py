"""What the lens does to pictures, and how much of the light stays in the frame."""

from __future__ import annotations

from gen.glyphs.base import Pixels, Real
from gen.perturb.base import Blur, MotionBlur, Resolution

Spread = Blur | MotionBlur | Resolution
"""The effects of the lens: linear, the same for all glyphs."""


def spread(images: Pixels, effect: Spread) -> tuple[Pixels, Real]:
    """Pictures as the lens gives them.

    Returns
    -------
    images
        ndarray of shape (n, H, W), uint8.
    kept
        ndarray of shape (H, W), float64: how much of the ink of each pixel stays in the frame.
    """
    frame = (images.shape[1], images.shape[2])
    if isinstance(effect, MotionBlur):
        from gen.render import motion

        kept = motion.kept(frame, effect.length_px, effect.way)
        return motion.motion_blur(images, effect.length_px, effect.way), kept
    if isinstance(effect, Resolution):
        from gen.render import resolution

        return resolution.reduce(images, effect.ratio), resolution.kept(frame, effect.ratio)
    from gen.render import blur

    return blur.blur(images, effect.sigma_px), blur.kept(frame, effect.sigma_px)
