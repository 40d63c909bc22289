"""The page: the whole job on one drawing, served on this machine alone.

Two kinds of process. The server (`app`, `gate`, `open_job`, `store`, `hands`) keeps the job and answers the browser; it
loads nothing heavy. A hand (`hand`, `answers`, `shelf`, `drawn`, `docket`, `woods`) does the stages and gives one JSON
document that carries everything the page draws. What the browser runs lies in `static`.
"""
