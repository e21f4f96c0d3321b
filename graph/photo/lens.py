"""Camera and lens off one photo of a known sheet, and how surely: a pinhole with distortion (Brown 1966).

Thirteen numbers are fitted to the sheet's corners by weighted least squares: the turn and place of the sheet, the focal
length, two terms of radial distortion, the middle of the picture, two terms of decentring. What one sheet cannot tell
(distortion outside it, focal length when square on) is held by what cameras are like, as prior observations; so the
covariance says how little is known there, and grows with the way from the sheet. All lengths in the picture are in
halves of its diagonal.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
LOG_F, K1, K2, MIDDLE, P1, P2 = 6, 7, 8, slice(9, 11), 11, 12
# What cameras are like, each with its standard deviation: focal length 26 mm to 77 mm on the 43 mm diagonal of 36 x 24,
# little distortion left by the camera's own correction, the lens's axis near the picture's middle (common practice).
LEAST_WORSE = 0.35  # corners lie nearer to the model than was feared: believed down to this part of the variance
PRIOR_MEAN = np.array([np.log(1.6), 0.0, 0.0, 0.0, 0.0, 0.0, 0.0])
PRIOR_SIGMA = np.array([0.5, 0.06, 0.03, 0.01, 0.01, 3e-4, 3e-4])


@dataclass(frozen=True, slots=True)
class Camera:
    """The fitted numbers `theta` and their `covariance`; `middle_px`, `half_px`: the picture's middle, half diagonal.

    `rms_px`: how far the corners lie from the model, root mean square of the distance.
    """

    theta: Floats
    covariance: Floats
    middle_px: Floats
    half_px: float
    rms_px: float

    def to_picture(self, places: Floats, z_mm: float = 0.0, theta: Floats | None = None) -> Floats:
        """Places of the plane `z_mm` above the sheet, mm, as points of the picture."""
        return project(self.theta if theta is None else theta, places, z_mm) * self.half_px + self.middle_px

    def to_plane(self, points: Floats, z_mm: float = 0.0, theta: Floats | None = None) -> Floats:
        """Points of the picture as places of the plane, mm."""
        found = (points - self.middle_px) / self.half_px
        return unproject(self.theta if theta is None else theta, found, z_mm)

    def spread_of(self, point: Floats, z_mm: float) -> float:
        """Standard deviation of the place under a point of the picture, mm, in its worst direction."""
        jacobian = np.empty((2, len(self.theta)))
        sigma = np.sqrt(np.diag(self.covariance))
        for number, step in enumerate(np.maximum(sigma * 0.1, 1e-9)):
            ahead, back = self.theta.copy(), self.theta.copy()
            ahead[number] += step
            back[number] -= step
            apart = self.to_plane(point[None], z_mm, ahead)[0] - self.to_plane(point[None], z_mm, back)[0]
            jacobian[:, number] = apart / (2 * step)
        return float(np.sqrt(np.linalg.eigvalsh(jacobian @ self.covariance @ jacobian.T)[-1]))

    @property
    def tilt_deg(self) -> float:
        """How far the camera looks from square on."""
        return float(np.degrees(np.arccos(min(1.0, abs(rotation(self.theta[:3])[2, 2])))))


def rotation(turn: Floats) -> Floats:
    """The rotation about an axis by its length (Rodrigues)."""
    angle = float(np.linalg.norm(turn))
    if angle < 1e-12:
        return np.eye(3)
    x, y, z = turn / angle
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.asarray(np.eye(3) + np.sin(angle) * cross + (1 - np.cos(angle)) * cross @ cross)


def project(theta: Floats, places: Floats, z_mm: float) -> Floats:
    """Places of the plane in the picture, in half diagonals from its middle."""
    world = np.column_stack([places, np.full(len(places), z_mm)])
    seen = world @ rotation(theta[:3]).T + theta[3:6]
    flat = np.exp(theta[LOG_F]) * seen[:, :2] / seen[:, 2:]
    square = (flat**2).sum(axis=1, keepdims=True)
    bent = flat * (1 + theta[K1] * square + theta[K2] * square**2) + _decentred(theta, flat)
    return np.asarray(bent + theta[MIDDLE])


def _decentred(theta: Floats, flat: Floats) -> Floats:
    """By how much a lens that is not quite centred moves points of the picture (Brown's tangential terms)."""
    x, y = flat[:, 0], flat[:, 1]
    square, both = x * x + y * y, 2 * x * y
    return np.column_stack([theta[P1] * both + theta[P2] * (square + 2 * x * x),
                            theta[P1] * (square + 2 * y * y) + theta[P2] * both])  # fmt: skip


def unproject(theta: Floats, points: Floats, z_mm: float) -> Floats:
    """The places of the plane under points of the picture: distortion undone by Newton's method, then the ray."""
    seen = points - theta[MIDDLE]
    bent = seen - _decentred(theta, seen)
    bent = seen - _decentred(theta, _straight(theta, bent))
    rays = _straight(theta, bent) / np.exp(theta[LOG_F])
    turned = np.column_stack([rays, np.ones(len(rays))]) @ rotation(theta[:3])  # R^T of each ray
    start = rotation(theta[:3]).T @ theta[3:6]
    reach = (z_mm + start[2]) / turned[:, 2]
    return np.asarray(turned[:, :2] * reach[:, None] - start[:2])


def _straight(theta: Floats, bent: Floats) -> Floats:
    """Points without their radial distortion."""
    far = np.sqrt((bent**2).sum(axis=1))
    flat = far.copy()
    for _ in range(6):
        square = flat**2
        value = flat * (1 + theta[K1] * square + theta[K2] * square**2) - far
        slope = 1 + 3 * theta[K1] * square + 5 * theta[K2] * square**2
        flat = flat - value / np.where(np.abs(slope) < 0.2, 0.2, slope)
    return np.asarray(bent * (flat / np.maximum(far, 1e-12))[:, None])


def fit_camera(
    places: Floats, points: Floats, size: tuple[int, int], homography: Floats, sigma_px: Floats
) -> tuple[Camera, NDArray[np.bool_]]:
    """The camera that sees `places` (mm, on the sheet) at `points`, and which corners it was fitted to.

    `size`: the picture's width and height; `homography`: a first one, from mm to points; `sigma_px`: how surely
    each corner is found. Corners that lie off by far more than the rest are left out, at most a quarter.
    """
    middle = np.array([(size[0] - 1) / 2, (size[1] - 1) / 2])
    half = float(np.hypot(*size)) / 2
    seen = (points - middle) / half
    start = _start(homography, middle, half)
    used = np.ones(len(places), dtype=bool)
    for _ in range(3):
        theta, covariance = _fitted(start, places[used], seen[used], sigma_px[used] / half)
        off = np.linalg.norm(project(theta, places, 0.0) - seen, axis=1) * half
        weighed = off / sigma_px
        kept = weighed <= max(4 * float(np.median(weighed[used])) / 0.9, 3.0)
        if kept.sum() < 0.75 * len(places) or (kept == used).all():
            break
        used, start = kept, theta
    rms = float(np.sqrt((off[used] ** 2).mean()))
    freedom = max(1, 2 * int(used.sum()) - 8)
    worse = max(LEAST_WORSE, float((weighed[used] ** 2).sum()) / freedom)
    return Camera(theta, covariance * worse, middle, half, rms), used


def _start(homography: Floats, middle: Floats, half: float) -> Floats:
    """First numbers, from the homography and a usual focal length (Zhang's decomposition)."""
    focal = float(np.exp(PRIOR_MEAN[0]))
    scale = 1 / half / focal
    to_ray = np.array([[scale, 0, -middle[0] * scale], [0, scale, -middle[1] * scale], [0, 0, 1]])
    columns = to_ray @ homography
    columns = columns / np.sqrt(np.linalg.norm(columns[:, 0]) * np.linalg.norm(columns[:, 1]))
    if columns[2, 2] < 0:
        columns = -columns
    first, second = columns[:, 0], columns[:, 1]
    u, _, v = np.linalg.svd(np.column_stack([first, second, np.cross(first, second)]))
    turned = u @ np.diag([1, 1, np.linalg.det(u @ v)]) @ v
    return np.concatenate([_turn_of(turned), columns[:, 2], PRIOR_MEAN])


def _turn_of(matrix: Floats) -> Floats:
    from scipy.spatial.transform import Rotation

    return np.asarray(Rotation.from_matrix(matrix).as_rotvec(), dtype=np.float64)


def _fitted(start: Floats, places: Floats, seen: Floats, sigma: Floats) -> tuple[Floats, Floats]:
    from scipy.optimize import least_squares  # scipy takes a while to load; only photos and readings need it

    def residuals(theta: Floats) -> Floats:
        off = ((project(theta, places, 0.0) - seen) / sigma[:, None]).ravel()
        return np.concatenate([off, (theta[6:] - PRIOR_MEAN) / PRIOR_SIGMA])

    scale = np.concatenate([np.full(3, 0.1), np.full(3, 100.0), PRIOR_SIGMA])
    done = least_squares(residuals, start, method="trf", x_scale=scale, max_nfev=60)
    rows = np.asarray(done.jac, dtype=np.float64)
    return np.asarray(done.x), np.asarray(np.linalg.inv(rows.T @ rows))
