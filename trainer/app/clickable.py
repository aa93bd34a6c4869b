"""Text that does something where it is clicked."""

from textual.content import Content
from textual.style import Style


def clickable(text: str | Content, action: str, style: str = "") -> Content:
    """Text with a style that runs an action of its screen where it is clicked."""
    content = text if isinstance(text, Content) else Content(text)
    return content.stylize(style).stylize(Style.from_meta({"@click": action}))
