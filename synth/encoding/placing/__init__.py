"""Signals known beforehand are placed: finds layouts, and proves nothing.

No part of what a proof's encoder version stands for.
"""
