"""A layout as one page for a browser: drawn, played and explained, without any network."""

from synth.views.page.assemble import page_html

__all__ = ["page_html"]
