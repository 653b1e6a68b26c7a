"""Places taken by turns: no dealer gets more for asking more often, and no place is lost."""

import asyncio

from service.batch.turns import Turns


def test_places_go_round_the_dealers_that_wait() -> None:
    """One who asks five times waits no longer and no shorter than one who asks once; what is cancelled loses no place."""

    async def run() -> list[str]:
        turns, served = Turns(1), list[str]()
        await turns.take("first")

        async def one(dealer: str) -> None:
            await turns.take(dealer)
            served.append(dealer)
            turns.give()

        asking = [asyncio.create_task(one(dealer)) for dealer in ["many"] * 5 + ["few"] * 2]
        await asyncio.sleep(0)
        asking[4].cancel()
        turns.give()
        asking[0].cancel()  # whose turn has just come
        await asyncio.gather(*asking, return_exceptions=True)
        async with asyncio.timeout(1):
            await turns.take("last")
        return served

    assert asyncio.run(run()) == ["few", "many", "few", "many", "many"]
