"""Charts in the grammar of graphics (Vega-Lite), laid out by a library and painted on whole pixels by us."""
