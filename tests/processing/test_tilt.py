"""Depth from tilt where the axes have holes."""


def test_axes_that_were_never_read_together_are_no_tilt():
    from pushproof.model.series import Series
    from pushproof.model.sounding import Sounding
    from pushproof.processing import process

    nan = float("nan")
    readings = Series(
        {"length": [1.0, 2.0], "qc": [1.0, 2.0], "tilt_x": [1.0, nan], "tilt_y": [nan, 1.0]}
    )
    profile = process(Sounding("A", readings))
    assert profile.depth_is_length
    assert profile.series["depth"].tolist() == [1.0, 2.0]
