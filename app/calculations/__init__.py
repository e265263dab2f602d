"""The sums the crew needs: pure functions, each with its source.

One module for each subject, more than ten, because a person looks for "lashing" and not for a group
of sums. `calculation` says what a sum is, `catalogue` which there are.
"""
