"""The search that proves: how large a box can be in a closed solid, from below and from above.

Everything here counts in the unit frame of one search, the box's own: axes along the box's sides, origin in the
middle of the solid, the diagonal of the solid one long. Turned boxes would be sought by turning the solid into
their frame; what a range of turns adds to a bound is a slack in each half-space and in each witness.
"""
