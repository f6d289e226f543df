namespace Supervisor.Configuration.Machines;

/// <summary>A stop as measured when the machine was commissioned; later ones are compared with it.</summary>
/// <param name="Velocity">Velocity at the trip, unit/s, above 0.</param>
/// <param name="Time">From trip to rest.</param>
/// <param name="Distance">From trip to rest, unit, above 0.</param>
/// <param name="WarnAbovePercent">By how much later stops may be longer before a warning, above 0.</param>
public sealed record StopDefinition(double Velocity, TimeSpan Time, double Distance, double WarnAbovePercent);
