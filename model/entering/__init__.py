"""The walk through a survey, one question a reading: what to ask next, and what an answer writes into the file.

The file is the only state: a line `# name = ?` is still to be asked, `# name = none` was left out.
"""
