"""The search that proves, for things that may be turned: branch on turns and on witness points.

A thing is a convex body in its own axes; a cell of turns is R = R₀ · Q(ω) with ω in a small box round zero. In the
thing's own, turning axes a point p that must stay outside lies beyond one of its faces, f · Rᵀp ≥ offset: linear in
the offset and, but for a remainder of second order that is bounded, in ω. So every branch is a linear or convex
program whose error falls with the square of the cell, where a bound by the angle alone would fall with the cell.
"""
