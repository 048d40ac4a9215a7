"""The counter in the messages: repeats, swaps, losses, restarts and its end."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pushproof.processing.streams.sequence import Place, SequenceWatch


def test_a_counter_of_eight_bits_goes_over_its_end():
    watch = SequenceWatch(256)
    places = [watch.see(n) for n in (254, 255, 1, 0, 0, 3)]
    assert places == [Place.NEW, Place.NEW, Place.NEW, Place.LATE, Place.DUPLICATE, Place.NEW]
    assert (watch.lost, watch.restarts) == (1, 0)


def test_a_sender_that_starts_again_loses_nothing():
    watch = SequenceWatch()
    assert [watch.see(n) for n in (500, 501, 0, 1)][2] is Place.RESTART
    assert (watch.received, watch.lost, watch.restarts) == (4, 0, 1)


def test_without_a_counter_every_reading_is_new():
    watch = SequenceWatch()
    assert {watch.see(None) for _ in range(5)} == {Place.NEW}
    assert watch.received == 5


@given(
    st.lists(st.booleans(), min_size=2, max_size=600),
    st.sampled_from([None, 256, 65536]),
    st.integers(0, 70000),
    st.randoms(use_true_random=False),
)
def test_received_and_lost_add_up_whatever_the_link_does(kept, modulus, start, random):
    """Losses, repeats and swaps of neighbours; gaps stay below half the counter."""
    kept[0] = kept[-1] = True
    kept = [k or i % 40 == 0 for i, k in enumerate(kept)]
    sent = [start + i for i, k in enumerate(kept) if k]
    arrived = [n for n in sent for _ in range(random.choice([1, 1, 1, 2]))]
    for i in range(1, len(arrived) - 1):
        if random.random() < 0.1:
            arrived[i], arrived[i + 1] = arrived[i + 1], arrived[i]
    watch = SequenceWatch(modulus)
    for n in arrived:
        watch.see(n if modulus is None else n % modulus)
    assert watch.received == len(set(sent))
    assert watch.duplicate == len(arrived) - len(set(sent))
    assert watch.expected == max(sent) - min(sent) + 1
    assert watch.restarts == 0


@pytest.mark.parametrize("gap", [1, 10, 5000])
def test_the_gap_before_a_reading_is_named(gap):
    watch = SequenceWatch()
    watch.see(7)
    watch.see(8 + gap)
    assert watch.gap == gap
    watch.see(9 + gap)
    assert watch.gap == 0
