"""Comparisons asked before shipping: references, pairs, versions, revisions. Empty until the first moves in."""
