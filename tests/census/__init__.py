"""Tests of the census."""
