using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Drives;
using Supervisor.Simulation.Modules;

namespace Supervisor.Simulation.Wires;

/// <summary>All lines and drives of a machine file, its interlock inputs closed and its buttons released.</summary>
public sealed class SimulatedMachine
{
    /// <summary>Builds the drives of a machine.</summary>
    /// <param name="machine">The machine file.</param>
    /// <param name="seed">Decides where the axes stand and the drives' serial numbers.</param>
    public SimulatedMachine(MachineDefinition machine, ulong seed = 1)
    {
        Machine = machine;
        Drives = [.. machine.Axes.Select(axis => new SimulatedDrive(axis, null, seed))];
        Modules = [.. machine.Modules.Select(module => new SimulatedModule(module))];
        Lines = [.. machine.Ports.Select((port, index) => new SimulatedLine(
            port, Drives.Where(drive => drive.Axis.Port == index), Modules.Where(module => module.Module.Port == index)))];
        foreach (var interlock in machine.Interlocks)
        {
            foreach (var input in interlock.Inputs)
            {
                Set(input, true);
            }
        }

        foreach (var alarm in machine.Alarms)
        {
            // Nothing is wrong at the beginning.
            if (alarm.Input is { } input)
            {
                Set(input.Input, !input.RaisedWhileClosed);
            }
        }

        // A button that is both watched and pressed would be a mistake of the file; released wins.
        foreach (var interlock in machine.Interlocks)
        {
            if (interlock.ResetInput is { } reset)
            {
                Set(reset, false);
            }
        }
    }

    /// <summary>The machine file.</summary>
    public MachineDefinition Machine { get; }

    /// <summary>Its drives, in the order of its axes.</summary>
    public IReadOnlyList<SimulatedDrive> Drives { get; }

    /// <summary>Its modules, in the file's order.</summary>
    public IReadOnlyList<SimulatedModule> Modules { get; }

    /// <summary>Its lines, in the order of its ports.</summary>
    public IReadOnlyList<SimulatedLine> Lines { get; }

    /// <summary>The drive of an axis, or null.</summary>
    public SimulatedDrive? Find(string axis) => Drives.FirstOrDefault(drive => drive.Axis.Name == axis);

    private void Set(InputReference input, bool closed)
    {
        if (input.Module is { } place)
        {
            Modules[place.Module].Inputs[place.Bit] = closed;
        }

        if (input.Source != InputSource.Drive)
        {
            return;
        }

        var drive = Drives[input.Axis];
        foreach (var (name, bit) in drive.Axis.Drive.Inputs)
        {
            if (bit == input.Bit)
            {
                drive.SetInput(name, closed);
            }
        }
    }
}
