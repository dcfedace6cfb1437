// Package growth says how the mass of an animal goes: its trend, the course of
// its year, sudden changes, the curve of its growth, its place among published
// masses, and whether a weigh-in or a scale looks wrong. It is pure: weigh-ins
// in, numbers out; days are numbers, and today is an argument.
//
// Masses are in kilograms, ages in years of 365.25 days, days are counted from
// 1 January 1970 in the facility's own time. Masses that were guessed (method
// "estimated") are left out everywhere. Weigh-ins of one day count once, by
// their median, so that their order never matters.
//
// A number that can't be had, or that would say nothing, comes with NotEnough
// or NotEstimable in words. Nothing here says that an animal is ill; what it
// finds is for a person to look at, and a fast loss is for the veterinarian.
package growth
