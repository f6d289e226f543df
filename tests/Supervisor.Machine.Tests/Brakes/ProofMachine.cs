using Supervisor.Configuration.Machines;
using Supervisor.Machine.Tests.Rig;

namespace Supervisor.Machine.Tests.Brakes;

/// <summary>The seeder whose dibber proves its brake under a load.</summary>
internal static class ProofMachine
{
    public static MachineDefinition With(ProofInterval? interval = null)
    {
        var machine = Machines.Seeder();
        var proof = new BrakeProofDefinition(60, TimeSpan.FromMilliseconds(500), 0.2, 0.8)
        {
            Every = interval?.Every,
            WhenOverdue = interval?.WhenOverdue ?? OverdueProof.Warn,
            Grace = interval?.Grace ?? TimeSpan.Zero,
        };
        var axes = machine.Axes.ToArray();
        axes[Machines.Dibber] = axes[Machines.Dibber] with
        {
            GravityLoaded = true,
            Brake = new BrakeDefinition(TimeSpan.FromMilliseconds(80), TimeSpan.FromMilliseconds(60)) { Proof = proof },
        };
        return machine with { Axes = axes };
    }
}

/// <summary>How often a brake is to be proven.</summary>
internal sealed record ProofInterval
{
    public TimeSpan? Every { get; init; }

    public OverdueProof WhenOverdue { get; init; }

    public TimeSpan Grace { get; init; }
}
