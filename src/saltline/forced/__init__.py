"""What a drive makes of the modes: shapes at places, participation, response, strain."""
