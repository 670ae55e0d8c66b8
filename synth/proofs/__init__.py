"""What shows that there is no layout: evidence, certificates, and their audit.

The audit trusts nobody, so nothing here imports a solver or the search.
"""
