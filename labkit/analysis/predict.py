"""What each connection should read: the person's own prediction, the uncoupled rule, the coupled rule.

Both rules start from readings, so each prediction has an uncertainty: first order, and Monte Carlo of the
same formula from the same inputs, one set of draws for all connections.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from labkit import quantity
from labkit.analysis.break_even import carried_text
from labkit.analysis.compare import (
    PARALLEL,
    SEED,
    SERIES,
    TOGETHER,
    TRUSTED_BIAS,
    Statement,
    coupled,
    uncoupled,
)
from labkit.analysis.observations import Observation
from labkit.analysis.routes import ALIKE, SINGLES, Coupling, Situation
from labkit.record.state import OwnPrediction
from labkit.theory.network import identify
from labkit.theory.number import Number
from labkit.theory.pair import STABLE_FORMS, is_passive
from labkit.theory.wiring import Connection, Terminal, Wiring, standard_wiring
from labkit.uncertainty.montecarlo import Agreement, MonteCarlo, agreement, monte_carlo
from labkit.uncertainty.propagate import Estimate
from labkit.words import labels


@dataclass(frozen=True)
class Ruled:
    """What a rule predicts for one connection, in H.

    Attributes
    ----------
    statement : the rule with the readings that it rests on
    estimate : first order
    stated : whether every reading behind it has an uncertainty
    monte_carlo, agreement : of the same formula, None if not stated or not drawn
    """

    statement: Statement
    estimate: Estimate
    stated: bool
    monte_carlo: MonteCarlo | None = None
    agreement: Agreement | None = None

    @property
    def text(self) -> str:
        """The estimate, rounded to its uncertainty or to what the displays carry."""
        if not self.stated:
            return carried_text(self.estimate, self.statement.inputs)
        return quantity.display(self.estimate.value, self.estimate.standard_uncertainty)

    @property
    def trusted(self) -> bool | None:
        """Whether first order may be trusted: bias and excess of u below a tenth of u; None if not drawn."""
        if self.agreement is None:
            return None
        u, bias = self.estimate.standard_uncertainty, self.agreement.bias
        return bias is not None and max(abs(bias), abs(self.agreement.excess)) <= TRUSTED_BIAS * u

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of the readings that it rests on."""
        return tuple(id for o in self.statement.inputs for id in o.ids)


@dataclass(frozen=True)
class Prediction:
    """Everything predicted for one connection.

    Attributes
    ----------
    connection : one of the eight that read something
    wiring : as read or predicted at the bench, else the usual way to build it
    own : what people committed for it
    uncoupled, coupled : by rule, None if the readings for it are missing or give no finite value
    is_input : whether the coupled rule rests on this connection's own reading
    either : whether unknown dots leave its polarity open; `connection` is then one of the two
    """

    connection: Connection
    wiring: Wiring
    own: tuple[OwnPrediction, ...]
    uncoupled: Ruled | None
    coupled: Ruled | None
    is_input: bool
    either: bool = False

    @property
    def title(self) -> str:
        """The connection in words; of unknown polarity how it is wired."""
        return labels.EITHER.get(self.connection, "") if self.either else labels.CONNECTION[self.connection]


def predictions(
    situation: Situation, believed: Coupling | None, own: Sequence[OwnPrediction], draws: int = 1_000_000
) -> tuple[Prediction, ...]:
    """Predictions for the singles and the six connections of both windings.

    While the dots are not known they are those of the uncoupled rule, which needs no dots.
    """
    dots, pool = situation.dots or ALIKE, situation.pool()
    drawn = _draws(believed, draws) if believed and believed.stated else {}
    return tuple(
        Prediction(
            connection,
            _wiring(connection, pool, dots),
            tuple(p for p in own if identify(p.wiring, dots) is connection),
            _uncoupled(connection, pool),
            _coupled(connection, believed if situation.dots else None, drawn),
            is_input=situation.dots is not None
            and believed is not None
            and connection in believed.route.needs,
            either=situation.dots is None and connection in (*SERIES, *PARALLEL),
        )
        for connection in (*SINGLES, *TOGETHER)
    )


def _wiring(
    connection: Connection, pool: Mapping[Connection, Observation], dots: tuple[Terminal, ...]
) -> Wiring:
    if connection in pool:
        return pool[connection].wiring
    wiring = standard_wiring(connection, dots)
    assert wiring is not None  # only an open circuit has none
    return wiring


def _uncoupled(connection: Connection, pool: Mapping[Connection, Observation]) -> Ruled | None:
    if connection in SINGLES or not all(single in pool for single in SINGLES):
        return None
    return by_rule(uncoupled(connection, (pool[SINGLES[0]], pool[SINGLES[1]])))


def _coupled(
    connection: Connection, believed: Coupling | None, drawn: Mapping[Connection, MonteCarlo]
) -> Ruled | None:
    if believed is None:
        return None
    return by_rule(coupled(connection, believed), drawn.get(connection))


def by_rule(statement: Statement, drawn: MonteCarlo | None = None) -> Ruled | None:
    """What a rule predicts; None where it has no finite value."""
    estimate = statement.estimate
    if estimate is None:
        return None
    stated = all(o.no_uncertainty is None for o in statement.inputs)
    return Ruled(statement, estimate, stated, drawn, agreement(estimate, drawn) if drawn else None)


def _draws(believed: Coupling, draws: int) -> dict[Connection, MonteCarlo]:
    """Monte Carlo for every connection that is not one of the route's readings, from one set of draws."""
    wanted = [c for c in TOGETHER if c not in believed.route.needs]

    def all_wanted(*x: Number) -> tuple[Number, ...]:
        pair = believed.route.pair(*x)
        return tuple(STABLE_FORMS[c](*pair) for c in wanted)

    results = monte_carlo(
        all_wanted,
        [o.input for o in believed.observations],
        seed=SEED,
        draws=draws,
        valid=lambda *x: is_passive(*believed.route.pair(*x)),
    )
    return dict(zip(wanted, results, strict=True))
