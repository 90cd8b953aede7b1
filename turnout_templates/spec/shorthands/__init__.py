"""Turn formations said in a few words into the routes that they stand for.

`table` lists the formations; each module declares the keys of one family and writes its routes; `write_out` puts them
in place of the words.
"""
