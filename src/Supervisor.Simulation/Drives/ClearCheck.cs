using Supervisor.Configuration.Drives;

namespace Supervisor.Simulation.Drives;

/// <summary>Whether the number that a drive wants with the reset of its present fault stands where its definition says.</summary>
internal sealed class ClearCheck(DriveDefinition drive, RegisterBank bank)
{
    private readonly Dictionary<ushort, (RegisterValue? Field, long Value)> _wanted = drive.Faults.Where(fault => fault.ClearWrite is not null)
        .ToDictionary(fault => fault.Code, fault => (bank.Commanded(fault.ClearWrite!.Field), fault.ClearWrite.Value));

    /// <summary>True for a fault that wants none.</summary>
    public bool Permits(ushort code) => !_wanted.TryGetValue(code, out var wanted) || wanted.Field?.Raw == wanted.Value;

    /// <summary>True for a fault that wants one.</summary>
    public bool Wants(ushort code) => _wanted.ContainsKey(code);
}
