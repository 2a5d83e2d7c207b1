"""Adding lines to a column: errors name the line, and formulas stay short enough to read."""

import pytest

from roi.engine.column import Book, Column, Heading
from roi.engine.errors import EngineError, FormulaTooLong, UnitMismatch
from roi.engine.expression import Axis, Data, Input, at_least, gather, larger, when

PARTS = Axis("parts", ("a", "b", "c"))


@pytest.fixture
def column():
    return Column("Direct plates", "direct")


@pytest.fixture
def numbers(column):
    return [column.input(Input(f"n{i}", f"number {i}", "1", i)) for i in range(5)]


def test_a_wrong_unit_names_the_line_the_unit_found_and_the_unit_declared(column):
    price = column.input(Input("price", "plate price", "currency/plate", 3.95))
    plates = column.input(Input("plates", "plates", "plate/year", 7200))
    with pytest.raises(UnitMismatch) as error:
        column.line("plate cost", "currency", price * plates)
    for word in ("Direct plates", "'plate cost'", "gives currency/year", "declared is currency"):
        assert word in str(error.value)
    assert [line.label for line in column.lines] == ["plate price", "plates"]  # nothing was added


def test_an_input_is_fetched_once_and_never_used_past_its_row(column):
    price = Input("price", "plate price", "currency/plate", 3.95)
    assert column.input(price) is column.input(price)
    with pytest.raises(EngineError, match=r"'twice the price': fetch price with column\.input"):
        column.line("twice the price", "currency/plate", 2 * price)


def test_a_label_stands_once_in_a_column(column, numbers):
    column.line("sum", "1", numbers[0] + numbers[1])
    with pytest.raises(EngineError, match="Direct plates: two lines are called 'sum'"):
        column.line("sum", "1", numbers[0])
    with pytest.raises(EngineError, match="two lines are called 'sum'"):
        column.data(Data("d", "sum", "1", PARTS, [1, 2, 3]))


def test_keys_find_lines(column, numbers):
    column.heading("Sums", "of two")
    total = column.line("sum", "1", numbers[0] + numbers[1], note="by hand", source="the shop")
    book = Book([column])
    assert book.line("direct.sum") is total and (total.note, total.source) == ("by hand", "the shop")
    assert book.line("direct.n3") is numbers[3] and numbers[3].is_input and not total.is_input
    assert list(book.inputs) == ["n0", "n1", "n2", "n3", "n4"]
    assert isinstance(column.body[0], Heading)
    with pytest.raises(KeyError):
        book.line("direct.difference")


# --- 150 characters


def long_sum(number, count):
    body = number
    for _ in range(count - 1):
        body = body + number
    return body


def test_a_formula_over_150_characters_is_refused_by_name(column, numbers):
    # "=" and 30 references "C888" with 29 signs make exactly 150 characters; one more term makes 155.
    column.line("thirty", "1", long_sum(numbers[0], 30))
    with pytest.raises(FormulaTooLong, match="Direct plates, 'thirty-one': a formula of 155 characters"):
        column.line("thirty-one", "1", long_sum(numbers[0], 31))


def test_every_row_of_a_gathered_block_is_measured(column, numbers):
    with pytest.raises(FormulaTooLong, match="'gathered'"):
        column.line("gathered", "1", gather(PARTS, [numbers[0], numbers[1], long_sum(numbers[2], 31)]))


def test_references_to_other_sheets_count_with_the_sheets_name(column, numbers):
    other = Column("Shop", "shop")
    with pytest.raises(FormulaTooLong, match="Shop, 'across'"):
        # 30 times "'Direct plates'!$C$888" is far past 150.
        other.line("across", "1", long_sum(numbers[0], 30))


# --- IF at most twice


def test_if_two_deep_passes_and_three_deep_is_refused_by_name(column, numbers):
    a, b, c, d, e = numbers
    two = when(at_least(a, b), when(at_least(b, c), d, e), when(at_least(c, d), a, b))
    column.line("two deep, three in all", "1", two)
    with pytest.raises(FormulaTooLong, match="Direct plates, 'three deep': IF is 3 deep"):
        inner = when(at_least(b, c), d, when(at_least(a, c), d, e))
        column.line("three deep", "1", when(at_least(a, b), c, inner))


def test_a_flag_inside_arithmetic_is_an_if_of_its_own(column, numbers):
    a, b, c, d, _ = numbers
    column.line("flag inside one", "1", when(at_least(a, b), at_least(c, d) * c, a))
    with pytest.raises(FormulaTooLong, match="IF is 3 deep"):
        inner = when(at_least(b, c), larger(at_least(c, d), 0), a)
        column.line("flag inside two", "1", when(at_least(a, b), inner, a))
