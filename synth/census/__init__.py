"""The census: every function that fits in some box, with its smallest layout; the rest ruled out.

One solver goes through a box with the truth table left free. Each model is a layout of a function;
its class is then forbidden, and the solver goes on with all that it learnt until there is no
model: every other function is refuted at once (``synth.questions.census`` says what is counted and
what is proven). ``running`` puts a box to a solver, ``helpers`` keep processes that do,
``ledger`` holds what is known, ``journal`` keeps it, ``taking`` puts them all together.
"""
