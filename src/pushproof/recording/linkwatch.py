"""Link watch: which of three troubles takes the level of the sound link down, and how sure.

A loose or dirty joint takes a step off the level when it enters the string; long or worn strings
lose steadily with length; rig noise comes and goes with the engine. Each leaves its own mark in
the received level against the number of rods. The watch compares the three, alone and together,
in one stated model and gives probabilities.

The model (all of it our own choice, see :class:`LinkModel`): the level of the packets received on
rod n is ``a - b n - s [n > k] - d e``, with e = 1 while the engine is under load, plus a scatter
that all packets on one rod share (the microphone is seated anew) and one of each packet. a, b, s
and d have normal priors, so the likelihood of every hypothesis is exact; the scatters are taken
from the data or summed over. A receiver that tells its noise level shows rig noise there and not
in the level; it is then judged against what an engine usually adds. Joint k is named after the rod
below it: "joint above rod 12".
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from pushproof.recording.linkcells import Array, Cell, Cells, table


class Trouble(StrEnum):
    """What the link watch can name."""

    NONE = ""
    JOINT = "joint"
    LOOSENED = "a joint came loose"
    STEADY = "steady loss with length"
    NOISE = "rig noise with the engine"


LEAST_SIZE = 1.0
"""Loss below which a step or noise is none [dB]."""

ADVICE = {
    Trouble.NONE: "",
    Trouble.JOINT: "Tighten that joint if it is still above ground; else clean threads and "
    "shoulders and torque every joint from here on. Mark the rod for the workshop.",
    Trouble.LOOSENED: "A joint gave way during the push: check the top joint first, then the "
    "contact of the thrust head and the microphone.",
    Trouble.STEADY: "Clean and torque every joint as it goes in, check shoulders for wear; grease "
    "or clay in the joints and a long string cost level. The memory fills what is lost.",
    Trouble.NOISE: "Push at lower engine speed, move the microphone away from pump and hoses, "
    "check its bracket and cable; hold a pause with the engine idling to hear the difference.",
}


@dataclass(frozen=True, slots=True)
class LinkModel:
    """Numbers of the model; every one is our own choice and can be set for a rig.

    Parameters
    ----------
    slope, slope_spread
        Usual loss per rod [dB] and its standard deviation.
    heavy, heavy_spread
        The same for a string that loses too much.
    step, step_spread
        Loss at a bad joint [dB].
    noise, noise_spread
        Loss of level over noise while the engine is under load [dB].
    load_spread
        Change of the level under load that is no trouble, either way: thrust presses the joints
        together [dB].
    usual, usual_spread, rise, rise_spread
        Noise level that an engine under load adds as a rule, and that it adds when it is trouble,
        where the receiver tells its noise [dB].
    margin
        Level over noise under load beyond which noise is no trouble [dB].
    rod_scatter
        Values of the shared scatter of one rod that are tried [dB].
    cell_scatter
        Scatter within a rod beyond that of the packets [dB].
    chance_step, chance_heavy, chance_noise
        How often each trouble is expected before anything was heard.
    chance_at_joint
        Share of steps that come with a new joint, not while a rod is pushed.
    threshold, threshold_joint
        Probability from which a trouble is named, and that its joint must reach by itself.
    least
        Packets on a rod from which it counts.
    """

    slope: float = 0.4
    slope_spread: float = 0.2
    heavy: float = 1.7
    heavy_spread: float = 0.6
    step: float = 8.0
    step_spread: float = 4.0
    noise: float = 6.0
    noise_spread: float = 3.0
    load_spread: float = 1.2
    usual: float = 3.0
    usual_spread: float = 2.0
    rise: float = 14.0
    rise_spread: float = 5.0
    margin: float = 12.0
    rod_scatter: tuple[float, ...] = (0.4, 0.8, 1.6)
    cell_scatter: float = 0.2
    chance_step: float = 0.15
    chance_heavy: float = 0.1
    chance_noise: float = 0.15
    chance_at_joint: float = 0.8
    threshold: float = 0.97
    threshold_joint: float = 0.9
    least: int = 6


@dataclass(frozen=True, slots=True)
class LinkVerdict:
    """What the link watch says.

    Parameters
    ----------
    trouble
        A trouble whose probability reaches the threshold; of several, what a crew can mend first.
    words
        The trouble in words: ``"joint above rod 12"``.
    probability
        Of that trouble (for a joint: of that very joint), 0 to 1.
    joint
        Rod below the joint, or None.
    size
        Loss [dB]: at the joint, per rod, or with the engine; None for no trouble.
    advice
        What to try.
    chances
        Probability of each trouble, of any joint together.
    also
        Other troubles that reach the threshold, in words.
    packets
        Packets heard.
    """

    trouble: Trouble = Trouble.NONE
    words: str = ""
    probability: float = 0.0
    joint: int | None = None
    size: float | None = None
    advice: str = ""
    chances: dict[Trouble, float] = field(default_factory=dict)
    also: tuple[str, ...] = ()
    packets: int = 0


class LinkWatch:
    """Listen to the levels packet by packet; ask :meth:`verdict` when it is needed.

    Examples
    --------
    >>> watch = LinkWatch()
    >>> for rod in range(1, 11):
    ...     for n in range(30):
    ...         level = 40 - 0.4 * rod - (9 if rod > 6 else 0) + 0.3 * (n % 3 - 1)
    ...         watch.heard(level, rod, n / 30)
    >>> watch.verdict().words
    'joint above rod 6'
    """

    def __init__(self, model: LinkModel | None = None) -> None:
        self.model = model or LinkModel()
        self._cells: dict[tuple[int, int, int], Cell] = {}
        self._number = 0
        self._judged = -1
        self._verdict = LinkVerdict()

    def heard(
        self,
        level: float,
        rods: int,
        along: float = 0.0,
        engine: bool = False,
        noise: float = math.nan,
    ) -> None:
        """Take a packet.

        Parameters
        ----------
        level
            Received level [dB].
        rods
            Rods in the string.
        along
            How far the top rod is in, 0 to 1.
        engine
            Engine under load; where nobody says, whether the rods go down.
        noise
            Noise level at the receiver [dB], if it tells it.
        """
        if math.isfinite(level):
            self._number += 1
            cell = self._cell(rods, along, engine)
            cell.levels.append(level)
            if math.isfinite(noise):
                cell.noise.append(noise)

    def missed(self, packets: int, rods: int, along: float = 0.0, engine: bool = False) -> None:
        """Take packets that were lost."""
        if packets > 0:
            self._number += 1
            self._cell(rods, along, engine).lost += packets

    def verdict(self) -> LinkVerdict:
        """Return what is wrong, if anything, and how sure that is."""
        if self._judged != self._number:
            self._judged = self._number
            self._verdict = judge(table(self._cells, self.model.least), self.model, self._losses())
        return self._verdict

    def _cell(self, rods: int, along: float, engine: bool) -> Cell:
        return self._cells.setdefault((rods, int(along >= 0.5), int(engine)), Cell())

    def _losses(self) -> tuple[int, int, int, int]:
        """Return heard and lost with the engine under load, then idle."""
        total = [0, 0, 0, 0]
        for (_, _, engine), cell in self._cells.items():
            at = 0 if engine else 2
            total[at] += len(cell.levels)
            total[at + 1] += cell.lost
        return total[0], total[1], total[2], total[3]


def judge(
    cells: Cells, model: LinkModel, losses: tuple[int, int, int, int] = (0, 0, 0, 0)
) -> LinkVerdict:
    """Compare all hypotheses on the cells and name the most probable trouble.

    Parameters
    ----------
    cells
        Levels by rod, half and engine.
    model
        Numbers of the model.
    losses
        Packets heard and lost with the engine under load, then idle.
    """
    rods = np.unique(cells.rod)
    if len(rods) < 2:
        return LinkVerdict(packets=losses[0] + losses[2])
    place = cells.rod + 0.5 * cells.half
    places = np.unique(place)
    edges = places[:-1]  # a step after each of these places
    at_joint = np.floor(places[1:]) != np.floor(edges)
    weight, step_size = _posterior(cells, model, place, edges, at_joint, losses)
    total = weight.sum()
    # axes: heavy slope (2), noise (2), step (1 + edges)
    chance = weight / total
    p_joint = chance[:, :, 1:][:, :, at_joint].sum(axis=(0, 1))
    p_mid = chance[:, :, 1:][:, :, ~at_joint].sum()
    chances = {
        Trouble.JOINT: float(p_joint.sum()),
        Trouble.LOOSENED: float(p_mid),
        Trouble.NOISE: float(chance[:, 1].sum()),
        Trouble.STEADY: float(chance[1].sum()),
    }
    sure = [t for t in chances if chances[t] >= model.threshold]
    if Trouble.JOINT in sure and p_joint.max() < model.threshold_joint:
        sure.remove(Trouble.JOINT)  # a step, but no single joint: nothing a crew can act on
    packets = losses[0] + losses[2]
    if not sure:
        return LinkVerdict(chances=chances, packets=packets)
    # In the order of what a crew can mend: a joint before noise before the whole string.
    first = min(sure, key=list(chances).index)
    joints = edges[at_joint]
    words = {t: t.value for t in sure}
    probability, joint = chances[first], None
    if Trouble.JOINT in sure:
        best = int(np.argmax(p_joint))
        words[Trouble.JOINT] = f"joint above rod {int(joints[best])}"
        if first is Trouble.JOINT:
            joint, probability = int(joints[best]), float(p_joint[best])
    also = tuple(words[t] for t in sure if t is not first)
    size = step_size[first]
    return LinkVerdict(
        first, words[first], probability, joint, size, ADVICE[first], chances, also, packets
    )


def _posterior(
    cells: Cells,
    model: LinkModel,
    place: Array,
    edges: Array,
    at_joint: NDArray[np.bool_],
    losses: tuple[int, int, int, int],
) -> tuple[Array, dict[Trouble, float]]:
    """Return weights of shape (2, 2, 1 + edges), and the mean size of each trouble [dB]."""
    count = len(edges)
    prior = np.zeros((2, 2, 1 + count))
    joints = max(int(at_joint.sum()), 1)
    others = max(count - int(at_joint.sum()), 1)
    each = np.where(at_joint, model.chance_at_joint / joints, (1 - model.chance_at_joint) / others)
    steps = np.concatenate(([1 - model.chance_step], model.chance_step * each))
    for heavy in (0, 1):
        for noise in (0, 1):
            prior[heavy, noise] = (
                np.log(steps)
                + math.log(model.chance_heavy if heavy else 1 - model.chance_heavy)
                + math.log(model.chance_noise if noise else 1 - model.chance_noise)
            )
    prior[:, 1] += _loss_evidence(losses)
    rise = 0.0
    if cells.noise_known:
        evidence, rise = _noise_evidence(cells, model)
        prior[:, 1] += evidence
    fits = [_evidence(cells, model, place, edges, s) for s in model.rod_scatter]
    logs = np.array([fit[0] for fit in fits]) + prior
    found = np.array([fit[1] for fit in fits])
    # A level that rises at a joint or under load is no trouble, however well it would fit.
    logs[..., 1:][found[..., 1:, 1] < LEAST_SIZE] = -np.inf
    if not cells.noise_known:
        logs[:, :, 1][found[:, :, 1, :, 2] < LEAST_SIZE] = -np.inf
    weights = np.exp(logs - logs.max())
    sizes = found  # axes: scatter, heavy, noise, step, (slope, step, noise)
    means = (weights[..., None] * sizes).reshape(-1, 3)
    whole = weights.sum()
    stepped, noisy = weights[..., 1:].sum(), weights[:, :, 1].sum()
    step_sum = (weights[..., None] * sizes)[..., 1:, 1].sum()
    noise_sum = (weights[..., None] * sizes)[:, :, 1, :, 2].sum()
    step = float(step_sum / stepped) if stepped else 0.0
    return weights.sum(axis=0), {
        Trouble.JOINT: step,
        Trouble.LOOSENED: step,
        Trouble.STEADY: float(means[:, 0].sum() / whole),
        Trouble.NOISE: rise or (float(noise_sum / noisy) if noisy else 0.0),
    }


def _evidence(
    cells: Cells, model: LinkModel, place: Array, edges: Array, rod_scatter: float
) -> tuple[Array, Array]:
    """Return log likelihoods (2, 2, 1 + edges) and posterior means of slope, step and noise."""
    n, hypotheses = len(place), 1 + len(edges)
    same = cells.rod[:, None] == cells.rod[None, :]
    base = np.diag(cells.variance + model.cell_scatter**2) + rod_scatter**2 * same
    root = np.linalg.cholesky(base)
    steps = np.zeros((hypotheses, n))
    steps[1:] = place[None, :] > edges[:, None]
    one, rod = np.ones(n), cells.rod - cells.rod.min()
    columns = np.linalg.solve(root, -np.stack([-one, rod, cells.engine], axis=1))
    stepped = np.linalg.solve(root, -steps.T).T
    level = np.linalg.solve(root, cells.level - cells.level.mean())
    constant = -np.log(np.diag(root)).sum()
    design = np.empty((hypotheses, n, 4))
    design[:, :, :3] = columns
    design[:, :, 3] = stepped
    turned = design.transpose(0, 2, 1)
    gram = turned @ design
    logs = np.empty((2, 2, hypotheses))
    means = np.zeros((2, 2, hypotheses, 3))
    for heavy in (0, 1):
        for noise in (0, 1):
            slope = (
                (model.heavy, model.heavy_spread) if heavy else (model.slope, model.slope_spread)
            )
            hidden = noise and not cells.noise_known  # rig noise shows in the level itself
            centre = np.array([0.0, slope[0], model.noise * hidden, 0.0])
            load = model.noise_spread if hidden else model.load_spread
            spread = np.array([30.0, slope[1], load, 1e-6])
            centres = np.tile(centre, (hypotheses, 1))
            spreads = np.tile(spread, (hypotheses, 1))
            centres[1:, 3], spreads[1:, 3] = model.step, model.step_spread
            rest = level - (design @ centres[..., None])[..., 0]
            seen = (turned @ rest[..., None])[..., 0]
            inner = gram + (1 / spreads**2)[..., None] * np.eye(4)
            shift = np.linalg.solve(inner, seen[..., None])[..., 0]
            quad = np.einsum("hn,hn->h", rest, rest) - np.einsum("hp,hp->h", seen, shift)
            _, log_det = np.linalg.slogdet(inner)
            log_det += 2 * np.log(spreads).sum(axis=1)
            logs[heavy, noise] = constant - 0.5 * (quad + log_det)
            found = centres + shift
            means[heavy, noise] = found[:, [1, 3, 2]]
    return logs, means


def _noise_evidence(cells: Cells, model: LinkModel) -> tuple[float, float]:
    """Return the log Bayes factor of too much noise under load, and how much it is [dB].

    The rise is taken from rods heard both ways, else from all; its own uncertainty is that of the
    spread from rod to rod.
    """
    rises = []
    for rod in np.unique(cells.rod):
        here = (cells.rod == rod) & np.isfinite(cells.noise)
        on, off = here & (cells.engine > 0), here & (cells.engine == 0)
        if on.any() and off.any():
            rises.append(cells.noise[on].mean() - cells.noise[off].mean())
    if rises:
        rise, sd = float(np.median(rises)), max(float(np.std(rises)), 0.5) / math.sqrt(len(rises))
    else:
        known = np.isfinite(cells.noise)
        on, off = known & (cells.engine > 0), known & (cells.engine == 0)
        rise, sd = float(cells.noise[on].mean() - cells.noise[off].mean()), 2.0
    loaded = np.isfinite(cells.noise) & (cells.engine > 0)
    if float((cells.level - cells.noise)[loaded].min()) > model.margin:
        return -10.0, rise  # loud it may be, but the packets stand well above it
    usual, much = math.hypot(model.usual_spread, sd), math.hypot(model.rise_spread, sd)
    return (
        math.log(usual / much)
        + 0.5 * ((rise - model.usual) / usual) ** 2
        - 0.5 * ((rise - model.rise) / much) ** 2
        if rise > model.usual
        else -10.0
    ), rise


def _loss_evidence(losses: tuple[int, int, int, int]) -> float:
    """Return the log Bayes factor for more loss under load than idle, held within -2 and 4.

    Two rates against one, each with a Beta(1, 4) prior. Held, because loss has other causes that
    this model leaves out.
    """
    on, on_lost, off, off_lost = losses
    if on + on_lost < 5 or off + off_lost < 5:
        return 0.0
    two = _beta(1 + on_lost, 4 + on) + _beta(1 + off_lost, 4 + off) - 2 * _beta(1, 4)
    one = _beta(1 + on_lost + off_lost, 4 + on + off) - _beta(1, 4)
    more = on_lost / (on + on_lost) > off_lost / (off + off_lost)
    factor = two - one if more else min(two - one, 0.0)
    return min(max(factor, -2.0), 4.0)


def _beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)
