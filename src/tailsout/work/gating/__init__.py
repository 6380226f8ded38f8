"""What `gate` looks at before a reel is threaded, unloaded and boxed."""
