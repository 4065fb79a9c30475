"""A made-up neighbourhood: its plan, its ground, what stands on it, and what a survey of it would have written down.

``ground_truth`` draws the neighbourhood itself; ``survey`` draws what somebody who measured it would have on file
(elevation with noise, the soil map). The two are apart so that one neighbourhood can be measured many times.
"""
