"""Icons of the weather, the moon and the wind, and signs of house and harbour, drawn for each size."""
