"""What an arm reaches through an open lid, and a rail within its reach."""
