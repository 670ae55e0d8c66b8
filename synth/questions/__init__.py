"""What is asked and answered: measures, boxes in order, cubes, cover, outcomes, events, journals.

Knows neither solvers nor walks: proofs, searches and stores all speak of questions in these words.
"""
