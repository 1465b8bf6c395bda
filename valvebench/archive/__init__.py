"""Session folders on disk: the journal, its blobs, the one saver and the lock."""
