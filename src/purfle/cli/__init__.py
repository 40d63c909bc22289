"""The command `purfle`: a thin face. It asks the maker's words, calls the flow, tells what came of it.

Promises: exit status 0 made and proven, 1 made but a finding says stop, 2 the input cannot be used, 130 stopped by
the maker; errors as what, where and mend on stderr; progress on a terminal only; no colour.
"""
