"""Maps of journeys: coast, projections, tracks and names."""
