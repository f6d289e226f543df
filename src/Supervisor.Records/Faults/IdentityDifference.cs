namespace Supervisor.Records.Faults;

/// <summary>What a device tells of itself that its definition does not accept (function 43, objects 0 to 2; MODBUS Application Protocol V1.1b3, 6.21).</summary>
/// <param name="Object">What of it; <see cref="IdentityObject.None"/>: there is no difference.</param>
/// <param name="Found">What it tells; empty where it does not tell it.</param>
public readonly record struct IdentityDifference(IdentityObject Object, ShortText Found);

/// <summary>What a device tells of itself.</summary>
public enum IdentityObject : byte
{
    None = 0,
    Vendor = 1,
    Product = 2,
    Revision = 3,

    /// <summary>All: it refuses to tell what it is.</summary>
    All = 4,
}
