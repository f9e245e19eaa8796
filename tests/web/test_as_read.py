"""The layout of a template makes no difference to a test; a space that can be seen does."""

import pytest

from tests.web.as_read import as_read


def test_a_page_on_one_line_and_one_indented_by_nesting_are_the_same() -> None:
    line = '<ul><li id="a" class="b">Two <b>words</b>.</li><li><button class="button">Save</button></li></ul>'
    nested = """
<ul>
  <li id="a"
      class="b">
    Two
    <b>words</b>.
  </li>
  <li>
    <button class="button">
      Save
    </button>
  </li>
</ul>
"""
    assert as_read(nested) == as_read(line) == line


@pytest.mark.parametrize(
    ("apart", "touching"),
    [
        ("<p>5 <b>lb</b></p>", "<p>5<b>lb</b></p>"),
        ("<p><b>dry</b> , then</p>", "<p><b>dry</b>, then</p>"),
        ("<p><i>a</i> <i>b</i></p>", "<p><i>a</i><i>b</i></p>"),
        ("<pre>a  b</pre>", "<pre>a b</pre>"),
        ("<textarea>\n\na</textarea>", "<textarea>a</textarea>"),
    ],
)
def test_a_space_that_can_be_seen_stays(apart: str, touching: str) -> None:
    assert as_read(apart) != as_read(touching)
    assert as_read(apart) == apart
