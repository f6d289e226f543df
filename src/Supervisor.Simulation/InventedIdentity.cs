using System.Text;
using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;

namespace Supervisor.Simulation;

/// <summary>What a simulated device tells of itself: what its definition accepts, and something invented where that names nothing.</summary>
internal static class InventedIdentity
{
    private const string Vendor = "Simulated";
    private const string Revision = "1.0";

    /// <summary>Null where the definition does not ask it.</summary>
    public static DeviceIdentity? Of(IdentificationDefinition? definition, string name) => definition is null ? null : new DeviceIdentity(
        definition.Vendor ?? Vendor,
        definition.Product ?? (Ascii.IsValid(name) && name.Length <= DeviceIdentification.MaximumObjectBytes ? name : Vendor),
        definition.Revisions.Count > 0 ? definition.Revisions[0] : Revision);
}
