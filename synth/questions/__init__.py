"""What is asked and answered: measures, boxes in order, cubes, cover, outcomes, events, journals.

This room knows neither solvers nor walks. Proofs, searches and stores share its types.
"""
