"""Words: what the service says, in every language that it speaks.

Rules of this package
---------------------
- The planner and the edge say messages in English (`service/planner/messages.py`); `catalogs/*.po` hold what stands for
  each in the other languages, named by the message's code (gettext's context).
- `languages.py` reads the catalogs and chooses by `Accept-Language`; `extracting.py` brings the catalogs up to date.
- No text stands here, and no rule of the trade. The terms to translate by stand in `GLOSSARY.md`.
"""
