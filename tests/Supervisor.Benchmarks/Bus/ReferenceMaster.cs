using System.Globalization;
using Supervisor.Benchmarks.Peers;

namespace Supervisor.Benchmarks.Bus;

/// <summary>What a round of exchanges came to.</summary>
/// <param name="Exchanges">Exchanges that were answered.</param>
/// <param name="Time">From the first request to the last reply.</param>
/// <param name="Processor">Processor time of the master's process meanwhile.</param>
internal readonly record struct Round(int Exchanges, TimeSpan Time, TimeSpan Processor)
{
    public double Rate => Exchanges / Time.TotalSeconds;

    public double ProcessorMicroseconds => Processor.TotalMicroseconds / Exchanges;
}

/// <summary>The master on libmodbus, in its own process.</summary>
internal sealed class ReferenceMaster(PeerProcess process)
{
    public Round Run(byte function, int exchanges, TimeSpan silence)
    {
        var told = process.Ask($"{function} {exchanges} {silence.TotalMicroseconds:0}").Split(' ');
        if (told is not [var seconds, var used, "0"])
        {
            throw new InvalidOperationException($"the master on libmodbus told: {string.Join(' ', told)}; wanted are seconds, seconds of processor time and no failure");
        }

        return new Round(exchanges, Seconds(seconds), Seconds(used));
    }

    private static TimeSpan Seconds(string text) => TimeSpan.FromSeconds(double.Parse(text, CultureInfo.InvariantCulture));
}
