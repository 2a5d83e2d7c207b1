"""Adding lines to a column: errors name the line, and formulas stay short enough to read."""

import pytest

from roi.engine.column import Book, Column, Heading
from roi.engine.errors import EngineError, FormulaTooLong, UnitMismatch
from roi.engine.evaluate import evaluate
from roi.engine.expression import Axis, Data, Input
from roi.engine.operations import at_least, gather, larger, when

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


def long_product(number, count):
    body = number
    for _ in range(count - 1):
        body = body * number
    return body


def test_a_formula_over_150_characters_is_refused_by_name(column, numbers):
    # "=" and 30 references "C888" with 29 signs make exactly 150 characters; one more factor makes 155.
    column.line("thirty", "1", long_product(numbers[0], 30))
    with pytest.raises(FormulaTooLong, match="Direct plates, 'thirty-one': a formula of 155 characters"):
        column.line("thirty-one", "1", long_product(numbers[0], 31))


def test_every_row_of_a_gathered_block_is_measured(column, numbers):
    with pytest.raises(FormulaTooLong, match="'gathered'"):
        column.line("gathered", "1", gather(PARTS, [numbers[0], numbers[1], long_product(numbers[2], 31)]))


def test_references_to_other_sheets_count_with_the_sheets_name(column, numbers):
    other = Column("Shop", "shop")
    with pytest.raises(FormulaTooLong, match="Shop, 'across'"):
        # 30 times "'Direct plates'!$C$888" is far past 150.
        other.line("across", "1", long_product(numbers[0], 30))


# --- sums of more terms than fit


def test_a_sum_that_fits_is_left_alone_and_a_longer_one_is_parted(column, numbers):
    column.line("thirty", "1", long_sum(numbers[0], 30))
    column.line("thirty-one", "1", long_sum(numbers[0], 31))
    assert [line.label for line in column.body] == ["thirty", "thirty-one, part 1", "thirty-one"]


def test_a_parted_sum_is_the_sum_wherever_it_stands(column, numbers):
    """Terms 0, 1, 2, 3, 4 over and over, 97 of them: 19 times 10, and 0 + 1."""
    body = numbers[0]
    for i in range(1, 97):
        body = body + numbers[i % 5]
    inside = column.line("inside", "1", numbers[2] * body / (1 + numbers[3]))
    top = numbers[0]
    for i in range(1, 60):
        top = larger(top, numbers[i % 5])
    most = column.line("most", "1", top)
    rows = column.line("rows", "1", gather(PARTS, [numbers[0], body, top]))
    values = evaluate(Book([column]), {})
    assert values[inside].flat[0] == 2 * 191 / 4
    assert values[most].flat[0] == 4
    assert values[rows][:, 0].tolist() == [0, 191, 4]


def test_a_sum_whose_terms_are_too_long_themselves_is_refused(column, numbers):
    long = long_product(numbers[0], 31)
    with pytest.raises(FormulaTooLong, match="'two long ones"):
        column.line("two long ones", "1", long + long)


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
