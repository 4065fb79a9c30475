import io

from screening.progress import progress_for


class Terminal(io.StringIO):
    def isatty(self):
        return True


def tell(stream, **options):
    with progress_for(stream, **options) as progress:
        progress.stage("terrain", 2, 5)
        progress.step(3, 9)
    return stream.getvalue()


def test_plain_lines_when_not_a_terminal():
    assert tell(io.StringIO()) == "[2/5] terrain\n"


def test_a_moving_line_on_a_terminal_and_nothing_left_behind():
    text = tell(Terminal())
    assert "[2/5] terrain  3 of 9" in text
    assert text.endswith("\r\x1b[2K")


def test_nothing_when_quiet():
    assert tell(Terminal(), quiet=True) == ""
