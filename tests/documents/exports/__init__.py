"""Do the documents that are no pages say what the record says, and nothing else?"""
