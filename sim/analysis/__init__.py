"""From irradiance to the UV index, zones and verdicts."""
