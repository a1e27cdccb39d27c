from viewer.flat import wrapped

TEXT = "one two three four five six seven"


def test_lines_are_balanced() -> None:
    # 33 letters in a column of 30: two lines of like length, not one long and one short.
    assert wrapped(TEXT, width=30 * 0.53 * 10, height=10, most=3) == "one two three four\nfive six seven"


def test_what_goes_beyond_ends_in_dots() -> None:
    lines = wrapped(TEXT, width=12 * 0.53 * 10, height=10, most=2).splitlines()
    assert len(lines) == 2
    assert lines[1].endswith(" ...")


def test_a_short_text_stays_one_line() -> None:
    assert wrapped("two words", width=400, height=10, most=2) == "two words"
