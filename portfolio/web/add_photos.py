"""To come within the hour."""

from fastapi import APIRouter

router = APIRouter()
