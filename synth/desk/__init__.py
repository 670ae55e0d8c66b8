"""The desk: a layout edited on a page, every edit answered by the simulator.

Read it in this order: ``design`` (what is edited), ``edits`` (what can be done to it), ``patch``
and ``history`` (undo and redo), ``journal`` and ``session`` (nothing is lost), ``player``,
``scene`` and ``judging`` (what is shown), ``seat`` (what a page may ask), ``server`` (the door).
Only ``page``, ``server`` and ``serving`` know of the web.
"""
