"""Layouts for other programs: pictures, 3D scenes, waveforms, netlists, lists of parts.

Only open standards, and lists in the builder's own words; no format of one program is built in.
"""
