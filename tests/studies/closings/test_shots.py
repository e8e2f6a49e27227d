"""Series of closings: the same by seed, whoever does the work and however often it is interrupted."""

import numpy as np
import pytest

import sim.studies.closings.shots as shots
from sim.errors import CaseError, StepoutError
from sim.studies.closings.shots import close_at_random
from studies.closing_cases import FEEDER, make_case

SHOTS = 'seed = 3\nobserve_ms = 1.0\ntrapped_most_pu = 0.3\ntrapped_cables = ["line"]'


@pytest.fixture(scope="module")
def case():
    return make_case(FEEDER, shots=SHOTS)


@pytest.fixture(scope="module")
def five(case):
    return close_at_random(case, 5)


def assert_same(peaks, other, count=None):
    """Equal to the last bit, the first `count` closings at least."""
    for name in ("numbers", "orders", "delays", "charges", "phase_earth", "phase_phase"):
        np.testing.assert_array_equal(getattr(peaks, name)[:count], getattr(other, name)[:count], name)


def test_series_is_complete(five):
    assert five.numbers.tolist() == [0, 1, 2, 3, 4] and (five.count, five.seed, five.breaker) == (5, 3, "gear")
    assert five.nodes == ("bus", "head", "tail", "load_bus") and five.cables == ("line",)
    assert five.phase_earth.shape == five.phase_phase.shape == (5, 4)
    assert five.delays.shape == (5, 3) and five.charges.shape == (5, 1, 3)
    # every closing overshoots the crest of 10 kV, each by another amount
    assert (five.phase_earth[:, 1] > 8165.0).all() and len(set(five.phase_earth[:, 1])) == 5


def test_shorter_series_is_the_beginning_of_a_longer_one(case, five):
    assert_same(close_at_random(case, 2), five, 2)


def test_several_processes_give_the_same(case, five, monkeypatch):
    monkeypatch.setattr(shots, "ALONE", 0)
    monkeypatch.setattr(shots, "PIECE", 2)
    done = []
    assert_same(close_at_random(case, 5, workers=2, progress=done.append), five)
    assert sorted(done) == done and done[-1] == 1.0 and len(done) == 3


def test_another_seed_gives_another_series(five):
    other = close_at_random(make_case(FEEDER, shots=SHOTS.replace("seed = 3", "seed = 4")), 2)
    assert not np.isclose(other.phase_earth[:, 1], five.phase_earth[:2, 1], rtol=1e-6).any()


def test_an_interrupted_series_keeps_what_is_done_and_goes_on(case, five, monkeypatch):
    def interrupt(share):
        if share >= 0.5:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt) as caught:
        close_at_random(case, 5, progress=interrupt)
    part = caught.value.closings
    assert part.numbers.tolist() == [0, 1, 2] and part.count == 5
    assert_same(part, five, 3)
    shot = []
    shoot = shots.Situation.shoot
    monkeypatch.setattr(shots.Situation, "shoot",
                        lambda self, closing: shot.append(closing.number) or shoot(self, closing))
    assert_same(close_at_random(case, 5, earlier=part), five)
    assert shot == [3, 4]


def test_a_lost_worker_is_told(case, monkeypatch):
    monkeypatch.setattr(shots, "ALONE", 0)
    monkeypatch.setattr(shots, "prepare_worker", len)       # fails in the worker: a case has no length
    with pytest.raises(StepoutError, match="a worker process was lost") as caught:
        close_at_random(case, 2, workers=2)
    assert "--workers 1" in caught.value.hint and len(caught.value.closings.numbers) == 0


def test_a_case_that_cannot_be_closed_is_refused_before_anything_is_done():
    with pytest.raises(CaseError, match="is closed at the start"):
        close_at_random(make_case(FEEDER.replace("closed = false", "closed = true")), 3)
