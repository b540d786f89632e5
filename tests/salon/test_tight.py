"""Pieces of a sentence on lines of their own, drawn without the breaks."""

import pytest
from django.template import Context, Template, TemplateSyntaxError


def drawn(source: str, **context: object) -> str:
    """Return what `tight` draws of a source."""
    template = Template("{% load components %}{% tight %}" + source + "{% endtight %}")
    return template.render(Context(context))


def test_lines_are_joined_without_a_space() -> None:
    source = """
      <strong>{{ name }}</strong>
      {% if chair %}, {{ chair }}{% endif %}
      {% for note in notes %}
        ; <em>{{ note }}</em>
      {% empty %}
        , nothing
      {% endfor %}
      .
    """

    assert drawn(source, name="Cut", chair="2", notes="ab") == (
        "<strong>Cut</strong>, 2; <em>a</em>; <em>b</em>."
    )
    assert drawn(source, name="Cut") == "<strong>Cut</strong>, nothing."


def test_a_space_inside_of_a_line_stays() -> None:
    source = """
      {{ name }} at
      {{ " " }}(<b>{{ place }}</b> )
    """

    assert drawn(source, name="Ida", place="the door") == "Ida at (<b>the door</b> )"


def test_attributes_stay_apart() -> None:
    source = """
      <a class="button"
         href="{{ address }}"
         {% if is_here %}aria-current="true"{% endif %}
      >{{ name }}</a
      >
      {% if is_here %}<b
        id="x">!</b>{% endif %}
    """

    assert drawn(source, address="/a/", name="A", is_here=True) == (
        '<a class="button" href="/a/" aria-current="true" >A</a ><b id="x">!</b>'
    )


def test_values_keep_their_lines_and_are_escaped() -> None:
    assert drawn("\n  {{ note }}\n", note="one\n  <two>") == "one\n  &lt;two&gt;"


def test_it_has_an_end() -> None:
    with pytest.raises(TemplateSyntaxError):
        Template("{% load components %}{% tight %}")
