using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Reading;

namespace Supervisor.Configuration.Signals;

/// <summary>
/// Whether a light can flash where it is. IEC 60073 has slow flashing at 0.4 to 0.8 Hz and normal flashing at 1.4 to 2.8 Hz (from memory; secondary
/// sources tell the same as 24 to 48 and 84 to 168 flashes a minute).
/// </summary>
internal sealed class FlashChecks(IReadOnlyList<ModuleDraft> modules)
{
    /// <summary>Left out: normal flashing.</summary>
    public const double DefaultHz = 2;

    private const double LeastSlowHz = 0.4;
    private const double MostSlowHz = 0.8;
    private const double LeastHz = 1.4;
    private const double MostHz = 2.8;

    // A write, its confirmation, and a cycle lost to something more urgent.
    private const int CyclesPerEdge = 3;

    private readonly Dictionary<int, int> _onModule = [];

    /// <summary>Reads <c>flashHz</c>; NaN with an error told.</summary>
    public double Read(ObjectReader light, OutputReference? place, bool flashes)
    {
        var hz = light.Number("flashHz", new NumberRange(LeastSlowHz, MostHz, "Hz"), DefaultHz);
        if (hz is > MostSlowHz and < LeastHz)
        {
            light.Refuse("flashHz", $"{Show.Number(hz)} Hz is neither slow flashing (0.4 to 0.8 Hz) nor normal (1.4 to 2.8 Hz, IEC 60073)");
        }

        if (!flashes)
        {
            if (light.Find("flashHz") is not null)
            {
                light.Refuse("flashHz", "goes with flashingWhile, which is left out");
            }

            return hz;
        }

        if (place?.Source == OutputSource.Drive)
        {
            light.Refuse("flashingWhile", $"{Show.Quoted(place.Text)} is an output of a drive: every edge would write the drive's command registers anew and take the line's time from its axis; let it be steady, or give it a module or a GPIO line");
        }
        else if (place?.Module is { } bit && modules[bit.Module].Definition is { } module)
        {
            CheckModule(light, bit.Module, module, hz);
        }

        return hz;
    }

    /// <summary>A module takes one write of an output after the other.</summary>
    private void CheckModule(ObjectReader light, int index, ModuleDefinition module, double hz)
    {
        var lights = _onModule[index] = _onModule.GetValueOrDefault(index) + 1;
        var leastMs = (CyclesPerEdge + lights - 1) * module.Poll.TotalMilliseconds;
        var halfMs = 500 / hz;
        if (halfMs < leastMs)
        {
            var fastest = 500 / leastMs;
            light.Refuse(
                light.Find("flashHz") is null ? "flashingWhile" : "flashHz",
                $"at {Show.Number(hz)} Hz an edge comes every {Show.Number(halfMs)} ms, but module {Show.Quoted(module.Name)} is written every {Show.Number(module.Poll.TotalMilliseconds)} ms and this is its flashing light number {lights}: at most {Show.Number(Math.Floor(fastest * 100) / 100)} Hz here");
        }
    }
}
