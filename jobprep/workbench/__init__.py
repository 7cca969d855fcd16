"""What the page of ``jobprep open`` may ask, answered from the pipeline, the files and the facts.

Files are the truth: a change on the page is an edit of the same TOML, comments kept.
"""
