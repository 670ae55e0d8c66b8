"""A layout as one page for a browser: drawn, played and explained, without any network."""

from synth.views.page.assemble import Among, page_html, shared_files

__all__ = ["Among", "page_html", "shared_files"]
