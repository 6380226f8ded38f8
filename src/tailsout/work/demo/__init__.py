"""A transfer to look at: an invented studio, an invented reel, sound that behaves like tape."""
