"""Going through a record again: a push that goes on, and one that another program records."""

import dataclasses

import pytest

from pushproof.model.stream import Reading, StreamKind
from pushproof.planning.document import plan_from
from pushproof.planning.ground import from_layers
from pushproof.planning.keep import kept
from pushproof.recording.live import Live
from pushproof.recording.procedure import Step
from pushproof.recording.retrace import Place, end_of, retrace
from pushproof.recording.session import Session, equip, setup_of
from pushproof.sources.rehearsal import Rehearsal
from pushproof.sources.replay import ReplaySource
from pushproof.store import Job


def prepare(job, rig):
    job.add_sounding("HM-3")
    equip(job, "HM-3", cone=rig.cone, rods=rig.rods, rig=rig.rig, encoder=rig.encoder)
    job.add_statement("HM-3", predrilled=rig.pushed.plan.start)
    layer = {"top": 0.0, "base": 17.0, "soil": "clay", "qc": 1500.0}
    plan = plan_from(
        {"target": 17.0, "layers": [layer], "rig": {"mass": 20_000.0, "thrust": 200.0}},
        "plan of the test",
    )
    job.add_equipment("plan", kept(plan, from_layers(plan.layers)), sounding="HM-3")


def run(job, messages, deeds=()):
    source = ReplaySource(iter(messages), speed=0)
    with Session(job, "HM-3", [source], waiting=1_000_000) as session:
        session.wait()
        for deed in deeds:
            deed(session)
    return session


def shown(live):
    """Return what a screen shows, without what belongs to the moment it is asked."""
    state = live.state(live._monotonic, live._arrival)
    loose = ("time", "number", "free_disk", "cone", "encoder", "pause")
    return {
        field.name: getattr(state, field.name)
        for field in dataclasses.fields(state)
        if field.name not in loose
    }


@pytest.fixture(scope="module")
def half(tmp_path_factory):
    """Return a job with the first part of a push, and what its guard ended with."""
    folder = tmp_path_factory.mktemp("retrace")
    rig = Rehearsal("HM-3", "loose-joint@5,loss=0.1", 3)
    messages = list(rig.messages())
    cut = len(messages) * 2 // 3
    with Job.create(folder / "a.job") as job:
        prepare(job, rig)
        session = run(
            job,
            messages[:cut],
            [
                lambda s: s.note("rods wiped"),
                lambda s: s.rod_added(),
                lambda s: s.pause("obstruction"),
                lambda s: s.acknowledge(),
            ],
        )
    return folder / "a.job", session.live, messages[cut:], rig


def test_the_listener_comes_to_where_the_push_stood(half):
    path, live, _, _ = half
    with Job.open(path) as job:
        again = Live("HM-3", setup_of(job, "HM-3"), count_rods="strokes")
        place = retrace(again, job, "HM-3")
        assert place == end_of(job, "HM-3")
        assert retrace(again, job, "HM-3", place) == place
    assert [row.stored for row in again.rows] == [row.stored for row in live.rows]
    assert [row.length for row in again.rows] == [row.length for row in live.rows]
    assert live.state().forecast is not None
    assert shown(again) == shown(live)
    assert again.state().pause == "obstruction"
    assert again.state().step.name == live.state().step.name == "push"


def test_in_pieces_as_a_follower_reads_it(half):
    path, live, _, _ = half
    with Job.open(path) as job:
        end = end_of(job, "HM-3")
        again = Live("HM-3", setup_of(job, "HM-3"), count_rods="strokes")
        place = Place()
        for share in (0.2, 0.5, 0.9):
            upto = Place(int(end.depth * share), int(end.cone * share), 0)
            place = retrace(again, job, "HM-3", place, upto)
        retrace(again, job, "HM-3", place)
    assert [row.stored for row in again.rows] == [row.stored for row in live.rows]


def test_rows_are_asked_for_by_their_number_in_the_record(half):
    _, live, _, _ = half
    numbers = [row.stored for row in live.rows]
    assert numbers == sorted(set(numbers))
    middle = numbers[len(numbers) // 2]
    assert [row.stored for row in live.rows_after(middle)] == [n for n in numbers if n > middle]
    assert live.rows_after(numbers[-1]) == []
    assert len(live.rows_after(0)) == len(numbers)


def test_recording_goes_on_with_rods_depth_and_step_as_they_were(half, tmp_path):
    import shutil

    path, live, rest, _ = half
    shutil.copy(path, tmp_path / "b.job")
    with Job.open(tmp_path / "b.job", write=True) as job:
        zeros = len(job.zeros("HM-3"))
        rods, length = live.signals.rods, live.signals.length
        source = ReplaySource(iter([]), speed=0)
        with Session(job, "HM-3", [source]) as session:
            session.wait()
            state = session.state()
            assert (state.advance.rods, state.advance.length) == (rods, length)
            assert state.step.name == "push"
            assert len(session.live.rows) == len(live.rows)
        with Session(job, "HM-3", [ReplaySource(iter(rest), speed=0)], waiting=10**6) as session:
            session.wait()
        end = session.live
        assert len(job.zeros("HM-3")) >= zeros
        stored = [row.stored for row in end.rows]
        assert stored == sorted(set(stored))
        assert end.signals.length > length
        # one that follows sees the same over the restarts
        other = Live("HM-3", setup_of(job, "HM-3"), count_rods="strokes")
        retrace(other, job, "HM-3")
        assert [row.length for row in other.rows] == [row.length for row in end.rows]


def test_a_record_of_one_reading(tmp_path):
    with Job.create(tmp_path / "c.job") as job:
        job.add_sounding("A")
        job.append("A", "cone", [Reading(StreamKind.CONE, 1.0, 1.0, {"qc": 5.0})])
        live = Live("A")
        assert retrace(live, job, "A") == Place(0, 1, 0, (0, 0))
        assert live.state().channel("qc").value == 5.0
        assert live.procedure.step is Step.SET_UP
