"""Colours stay apart for people who see colours differently.

Simulation: Machado, Oliveira and Fernandes (2009), A Physiologically-based Model for Simulation of Color Vision
Deficiency, doi:10.1109/TVCG.2009.113, matrices for severity 1.0 (from memory). Difference: CIE 1976 colour
difference in CIELAB, D65.
"""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest

from screening.outputs.palette import SUITABILITY

SIGHT = {
    "normal": np.eye(3),
    "protanopia": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deuteranopia": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "tritanopia": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
}


def _lab(colour: str, sight: np.ndarray) -> np.ndarray:
    rgb = np.array([int(colour[at : at + 2], 16) for at in (1, 3, 5)]) / 255
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    linear = np.clip(sight @ linear, 0, 1)
    xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]) @ linear
    ratio = xyz / np.array([0.95047, 1.0, 1.08883])
    f = np.where(ratio > 0.008856, np.cbrt(ratio), 7.787 * ratio + 16 / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.mark.parametrize("name", SIGHT)
def test_every_two_classes_differ(name: str) -> None:
    labs = [_lab(colour, SIGHT[name]) for colour in SUITABILITY]
    assert min(np.linalg.norm(a - b) for a, b in combinations(labs, 2)) >= 25


@pytest.mark.parametrize("name", SIGHT)
def test_higher_classes_are_darker(name: str) -> None:
    lightness = [_lab(colour, SIGHT[name])[0] for colour in SUITABILITY]
    assert lightness == sorted(lightness, reverse=True)
    assert min(a - b for a, b in pairwise(lightness)) >= 10
