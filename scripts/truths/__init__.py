"""Truths drawn by the demo generator, and what an office would have on file of each.

Nothing here shares code with the draws of ``screening.ranking``: an error that both had would not show.
"""
