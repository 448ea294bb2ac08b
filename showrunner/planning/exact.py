"""The best order by constraint programming with OR-Tools' CP-SAT, for more items than dynamic programming can take."""

from collections.abc import Callable, Mapping, Sequence
from math import ceil
from typing import Any

from showrunner.planning.task import Task

ROUNDING = 1e-6


def solver() -> Any | None:
    """OR-Tools' CP-SAT module; None where the extra `order` is not installed."""
    try:
        from ortools.sat.python import cp_model
    except ImportError:
        return None
    return cp_model


def nothing_more(_model: Any, _literals: Mapping[tuple[int, int], Any]) -> int:
    """No conditions, and nothing to pay."""
    return 0


def cheaper(
    task: Task,
    upper: int,
    bound: int,
    may: Sequence[Sequence[bool]],
    seconds: float,
    cp_model: Any,
    more: Callable[[Any, Mapping[tuple[int, int], Any]], Any] = nothing_more,
    total: Callable[[Sequence[int]], int] | None = None,
) -> tuple[list[int] | None, int]:
    """The best order that costs less than `upper`, None if none was found, and a cost that no order undercuts.

    Only the steps that `may` be in such an order are looked at, for `seconds` at the most. `more` puts conditions
    into the model, with a literal for each step, and gives what is to be paid on top; `total` is all that an order
    costs then.
    """
    circuit = _Circuit(task, may, cp_model.CpModel())
    if not circuit.literals:
        return None, upper
    model, cost = circuit.model, circuit.cost + more(circuit.model, circuit.literals)
    model.add(cost >= bound)
    model.add(cost < min(upper, task.never))
    model.minimize(cost)
    search = cp_model.CpSolver()
    search.parameters.max_time_in_seconds = seconds
    search.parameters.num_workers = 1
    search.parameters.linearization_level = 2
    status = search.solve(model)
    if status == cp_model.INFEASIBLE:
        return None, upper
    proved = max(bound, ceil(search.best_objective_bound - ROUNDING))
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, proved
    order = circuit.order_in(search)
    return order, (total or task.total)(order) if status == cp_model.OPTIMAL else proved


class _Circuit:
    """All orders there may be as ways round in a model: a literal for each step, both ends joined in one more item."""

    def __init__(self, task: Task, may: Sequence[Sequence[bool]], model: Any) -> None:
        self.task, self.model = task, model
        self.literals = {
            (a, b): model.new_bool_var("")
            for a in range(task.size + 1)
            for b in range(task.size + 1)
            if a != b and may[a][b] and _step(task, a, b) < task.never
        }
        if self.literals:
            model.add_circuit([(a, b, literal) for (a, b), literal in self.literals.items()])
            _fix(model, task, self.literals)

    @property
    def cost(self) -> Any:
        """What the steps of a way round cost."""
        return sum(_step(self.task, a, b) * literal for (a, b), literal in self.literals.items())

    def order_in(self, search: Any) -> list[int]:
        """The order that a search has found."""
        following = {a: b for (a, b), literal in self.literals.items() if search.boolean_value(literal)}
        order, at = list[int](), following[self.task.size]
        while at != self.task.size:
            order.append(at)
            at = following[at]
        return order


def _step(task: Task, a: int, b: int) -> int:
    """Cost from a to b, where the item after the last stands for the start and the end."""
    root = task.size
    if a == root or b == root:
        return task.never if a == b else task.start[b] if a == root else task.end[a]
    return task.cost[a][b]


def _fix(model: Any, task: Task, literals: Mapping[tuple[int, int], Any]) -> None:
    """Places in the model, needed only where something is fixed between the ends."""
    last = task.size - 1
    for place, item in ((0, task.fixed.get(0)), (last, task.fixed.get(last))):
        if item is not None:
            arc = (task.size, item) if place == 0 else (item, task.size)
            model.add_bool_or([literals[arc]] if arc in literals else [])
    inner = {item: place for place, item in task.fixed.items() if 0 < place < last}
    if not inner:
        return
    ends = {task.fixed[place]: place for place in (0, last) if place in task.fixed}
    places = [
        model.new_constant((inner | ends)[item]) if item in inner or item in ends else model.new_int_var(0, last, "")
        for item in range(task.size)
    ]
    model.add_all_different(places)
    for (a, b), literal in literals.items():
        if a == task.size or b == task.size:
            continue
        model.add(places[b] == places[a] + 1).only_enforce_if(literal)
