"""The web pages for people: log-in, the displays and how they fare, their keys, what to show by hand."""
