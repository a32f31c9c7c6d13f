"""The formulas' docstrings are complete, agree with the code, and name sources that exist."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from types import ModuleType

import pytest
from latex2mathml.converter import convert
from measures_bench import REFERENCE

from coilbook.core.budgets import joint, uncertainty
from coilbook.core.constants import CONSTANTS, Constant
from coilbook.core.formulas import circuit, coil, copper, hum, inductor, layers, pair, window, wire
from coilbook.core.formulas import resonance as circuits
from coilbook.core.reduction import instrument, probe
from coilbook.measures import (
    columns,
    expansion,
    expected,
    magnet_field,
    magnet_grade,
    metals,
    monte_carlo,
    phase,
    resonance,
    response,
)
from coilbook.measures.formulas import FORMULA_FUNCTIONS, FORMULAS, FormulaDoc, document

FUNCTIONS = [function for functions in FORMULA_FUNCTIONS.values() for function in functions]

#: Public functions of the formula rooms that are no formulas, and why.
NOT_FORMULAS = {
    instrument.instrument_budget: "applies a listed formula to a reading; its result is a budget",
    circuits.load_above_0: "refuses a load that is none",
    circuits.terms: "the denominator that the listed formulas share",
    joint.chi_square_above: "a distribution of the textbooks, tested beside scipy's",
    instrument.as_one_limit: "joins two lines of a budget; tried by the coverage of 6,000 coils",
    columns.columns_of: "puts readings into columns; nothing is computed but their limits",
    expected.running_checks: "applies listed formulas at several turns; its results are budgets",
    joint.combined_turns: "applies listed formulas to budgets; its result is a budget",
    joint.joint_budget: "joins budgets' lines; tested beside the uncertainties package",
    joint.covariance: "of budgets, as above; its formula stands in its docstring",
    monte_carlo.standard_draws: "draws at random; its shapes are tested beside scipy's",
    monte_carlo.draw_input: "draws at random, as above, in an input's own unit",
    monte_carlo.correlated_draws: "draws at random, as above, together",
    monte_carlo.propagate: "draws inputs and hands their results to a listed formula",
    phase.coil_phase: "applies listed formulas to what is recorded of a coil",
    phase.pair_phase: "applies listed formulas to what is recorded of two coils",
    probe.unloaded_peak: "applies listed formulas to budgets; its result is a budget",
    circuits.peak_frequency_estimate: "applies listed formulas to budgets; its result is a budget",
}


@pytest.mark.parametrize(
    "module",
    [
        circuit,
        circuits,
        coil,
        columns,
        copper,
        expansion,
        expected,
        hum,
        inductor,
        instrument,
        joint,
        layers,
        magnet_field,
        magnet_grade,
        metals,
        monte_carlo,
        pair,
        phase,
        probe,
        resonance,
        response,
        uncertainty,
        window,
        wire,
    ],
)
def test_every_public_function_of_a_formula_room_is_listed(module: ModuleType) -> None:
    """A formula added without its place on the methods page is found here."""
    public = {
        function
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
    }
    assert public
    assert public - set(NOT_FORMULAS) <= set(FUNCTIONS)


def test_no_formula_is_listed_twice() -> None:
    """One place on the methods page each."""
    assert len(set(FUNCTIONS)) == len(FUNCTIONS)


@pytest.mark.parametrize("formula", FORMULAS, ids=lambda formula: formula.name)
def test_the_source_is_known(formula: FormulaDoc) -> None:
    """A published formula names a row of sources.csv and a place in it; the others name none."""
    if formula.basis == "published":
        assert formula.source_id in REFERENCE.sources
        assert formula.locator
    else:
        assert formula.source_id is None


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.__name__)
def test_documented_arguments_are_the_functions_own(function: Callable[..., object]) -> None:
    """Each argument of the code is documented once, in order, with its unit; and no other."""
    formula = document(function, "test")
    parameters = list(inspect.signature(function).parameters)
    assert [argument.name for argument in formula.arguments] == parameters
    assert all(argument.unit for argument in formula.arguments)


@pytest.mark.parametrize("formula", FORMULAS, ids=lambda formula: formula.name)
def test_latex_becomes_mathml(formula: FormulaDoc) -> None:
    """The methods page can set every formula and symbol, with no command left over as text."""
    for latex in (formula.latex, formula.result_symbol, *(a.symbol for a in formula.arguments)):
        markup = convert(latex)
        assert markup.startswith("<math")
        assert "\\" not in markup


@pytest.mark.parametrize("constant", CONSTANTS, ids=lambda constant: constant.name)
def test_constants_name_a_known_source_or_common_practice(constant: Constant) -> None:
    """A source id is a row of sources.csv, and then has a locator."""
    assert constant.source_id is None or constant.source_id in REFERENCE.sources
    assert bool(constant.locator) == (constant.source_id is not None)


def _lacking_validity(resistance_ohm: float) -> float:
    r"""Return it.

    Formula: R
    Arguments: resistance_ohm R [Ω]
    Returns: R [Ω]
    Source: geometry
    """
    return resistance_ohm


def _with_an_unknown_field(resistance_ohm: float) -> float:
    r"""Return it.

    Formula: R
    Arguments: resistance_ohm R [Ω]
    Result: R [Ω]
    """
    return resistance_ohm


def _without_units(resistance_ohm: float) -> float:
    r"""Return it.

    Formula: R
    Arguments: resistance_ohm R
    Returns: R [Ω]
    Validity: always.
    Source: geometry
    """
    return resistance_ohm


def test_a_docstring_that_lacks_something_is_refused_by_name() -> None:
    """The message names the function and what is missing."""
    with pytest.raises(ValueError, match="_lacking_validity: the docstring lacks Validity"):
        document(_lacking_validity, "test")
    with pytest.raises(ValueError, match="_with_an_unknown_field: 'Result"):
        document(_with_an_unknown_field, "test")
    with pytest.raises(ValueError, match="_without_units: write arguments"):
        document(_without_units, "test")


def test_a_derivation_is_kept_as_notes() -> None:
    """The closed form's derivation reaches the methods page."""
    (turns,) = [formula for formula in FORMULAS if formula.name == "coil_turns"]
    assert any(note.startswith("Derivation: ") for note in turns.notes)
    assert "g = " in turns.latex  # the formula's second line is joined on
