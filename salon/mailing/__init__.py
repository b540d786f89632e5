"""Mail: handed to a server once, tried again only where it cannot have left.

`outcome` says what became of one try, `letters` queues and retries, `headers` is what every
mail of the product carries, `status` tells the owner.
"""
