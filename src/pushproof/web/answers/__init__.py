"""What the calls answer, as typed documents: they stand in the OpenAPI document.

The answers themselves are written by the fast encoder of :mod:`pushproof.web.numbers` and do not
pass through these classes; tests hold every real answer against its schema, so that the two
cannot drift apart.
"""
