using System.Globalization;
using Supervisor.Simulation.Wires;

namespace Supervisor.Simulation.Bench;

/// <summary>What the drives told in each cycle, as they told it: one line an answer, to hold a recording against. Called by every port's thread.</summary>
/// <param name="writer">Where to; not disposed here.</param>
public sealed class BenchLog(TextWriter writer)
{
    /// <summary>First line.</summary>
    public const string Heading = "at_us,axis,position_counts,velocity_counts,torque_percent";

    private readonly Lock _gate = new();
    private bool _isBegun;

    /// <summary>Writes a line for an answer that told a cycle's feedback; others are left out.</summary>
    public void Answered(LineAnswer answer)
    {
        if (!answer.IsFeedback)
        {
            return;
        }

        var plant = answer.Drive.Plant;
        lock (_gate)
        {
            if (!_isBegun)
            {
                writer.WriteLine(Heading);
                _isBegun = true;
            }

            writer.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"{answer.At.Ticks / TimeSpan.TicksPerMicrosecond},{answer.Drive.Axis.Name},{Math.Round(answer.Drive.CountedPosition)},{Math.Round(plant.VelocityCounts)},{Math.Round(plant.Torque, 1)}"));
            writer.Flush();
        }
    }
}
