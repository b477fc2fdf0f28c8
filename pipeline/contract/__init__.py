"""What a book may hold: columns, the twelve logs and their pandera schemas, quantities, units and findings."""
