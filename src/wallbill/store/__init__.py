"""What must outlive a restart: displays and their keys, editions and impressions, contacts and reports, people.

`model.py` holds the values, `ports.py` what other rooms may ask of a store; `shell.py` opens one on SQLite or PostgreSQL.
"""
