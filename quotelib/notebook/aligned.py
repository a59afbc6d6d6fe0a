"""How do the sections of a quote stand in JupyterLab, which puts words in a table to the right."""

from quotelib.documents.sections import Html

_LEFT = (
    "<style>.quotelib-left.quotelib-left :is(caption, th, td):not(.n) {{ text-align: left; "
    "vertical-align: top; white-space: normal; }}</style>"
    '<div class="quotelib-left">{}</div>'
)


def words_left(section: Html) -> Html:
    """Put the words of a section's tables to the left; figures (class ``n``) stay at the right."""
    return Html(_LEFT.format(section.html))
