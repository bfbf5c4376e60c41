"""The peer of `requests.py`: a FastAPI route that returns one stored answer, and does nothing else."""

import os
from pathlib import Path

from fastapi import FastAPI, Request, Response

app = FastAPI()
ANSWER = Path(os.environ["STORED_ANSWER"]).read_bytes()


@app.post("/advice")
async def post(request: Request) -> Response:
    await request.body()
    return Response(ANSWER, media_type="application/json")


@app.get("/orchards/larkfield/advice")
async def get() -> Response:
    return Response(ANSWER, media_type="application/json")
