"""Samples of an image between its pixels."""

import numpy as np
import pytest

from jobprep.measuring.edge_profile import sample


def test_between_four_pixels_lies_what_goes_evenly_from_one_to_the_other():
    """On a plane a·x + b·y + c bilinear interpolation is exact."""
    y, x = np.mgrid[0:4, 0:6]
    image = np.stack([2 * x + 3 * y + 1, -x, 0.5 * y], axis=-1).astype(np.float32)
    places = np.array([[[0.25, 1.5], [4.75, 2.125]], [[5.0, 3.0], [0.0, 0.0]]])
    wanted = np.stack(
        [2 * places[..., 0] + 3 * places[..., 1] + 1, -places[..., 0], 0.5 * places[..., 1]], -1
    )
    assert sample(image, places) == pytest.approx(wanted, abs=1e-12)


def test_outside_an_image_its_border_goes_on():
    image = np.arange(12.0).reshape(2, 2, 3)
    places = np.array([[-3.0, 0.0], [1.0, 9.0], [7.5, -0.1], [1.0, 1.0]])
    assert (sample(image, places) == image[[0, 1, 0, 1], [0, 1, 1, 1]]).all()
