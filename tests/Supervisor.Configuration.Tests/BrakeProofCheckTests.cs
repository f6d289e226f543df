using System.Text.RegularExpressions;
using Supervisor.Configuration.Machines;

namespace Supervisor.Configuration.Tests;

/// <summary>How a file says the proof of a brake: each wrong thing gives exactly its error, with its place and what to do.</summary>
public sealed partial class BrakeProofCheckTests
{
    private const string Brake = "command[7] = { \"name\": \"extra\", \"register\": 90, \"type\": \"u16\" }\nholdBrake = \"extra.0\"";

    [Fact]
    public void Read_EveryMember_IsInTheDefinition()
    {
        var proof = Read(Brake, Proof("\"torque\": 60, \"forMs\": 500, \"movement\": 0.2, \"reach\": 1, \"direction\": \"negative\", \"everyHours\": 24, \"whenOverdue\": \"refuse\", \"graceHours\": 8")).Value!.Axes[0].Brake!.Proof!;

        Assert.Equal((60, TimeSpan.FromMilliseconds(500), 0.2, 1), (proof.Torque, proof.For, proof.Movement, proof.Reach));
        Assert.Equal((ProofDirection.Negative, TimeSpan.FromHours(24), TimeSpan.FromHours(8), OverdueProof.Refuse), (proof.Direction, proof.Every, proof.Grace, proof.WhenOverdue));
    }

    [Fact]
    public void Read_OnlyWhatIsNeeded_HasTheDefaults()
    {
        var proof = Read(Brake, Proof("\"torque\": 60, \"forMs\": 500, \"movement\": 0.2")).Value!.Axes[0].Brake!.Proof!;

        Assert.Equal(0.8, proof.Reach, 1e-9);
        Assert.Equal((ProofDirection.Both, (TimeSpan?)null, TimeSpan.Zero, OverdueProof.Warn), (proof.Direction, proof.Every, proof.Grace, proof.WhenOverdue));
    }

    [Theory]
    [InlineData("\"forMs\": 500, \"movement\": 0.2", "torque: is missing: torque of the motor against the closed brake")]
    [InlineData("\"torque\": 60, \"movement\": 0.2", "forMs: is missing: how long the brake must hold it")]
    [InlineData("\"torque\": 60, \"forMs\": 500", "movement: is missing: farthest the axis may move while the brake holds")]
    [InlineData("\"torque\": 0, \"forMs\": 500, \"movement\": 0.2", "torque: 0 must be above 0 and at most 300 % of rated")]
    [InlineData("\"torque\": 301, \"forMs\": 500, \"movement\": 0.2", "torque: 301 must be above 0 and at most 300 % of rated")]
    [InlineData("\"torque\": 60, \"forMs\": 0, \"movement\": 0.2", "forMs: 0 must be above 0 and at most 60000 ms")]
    [InlineData("\"torque\": 60, \"forMs\": 60001, \"movement\": 0.2", "forMs: 60001 must be above 0 and at most 60000 ms")]
    [InlineData("\"torque\": 60, \"forMs\": 500, \"movement\": 0", "movement: 0 must be above 0 mm")]
    [InlineData("\"torque\": 60, \"forMs\": 500, \"movement\": 0.0005", "movement: 0.0005 mm is less than one count of the drive; it could not be seen")]
    [InlineData("\"torque\": 60, \"forMs\": 500, \"movement\": 0.2, \"reach\": 0.2", "reach: 0.2 mm is not beyond the permitted movement of 0.2 mm: a brake that slips would not show")]
    [InlineData("\"torque\": 60, \"forMs\": 500, \"movement\": 0.2, \"reach\": -1", "reach: -1 must be above 0 mm")]
    [InlineData("\"torque\": 60, \"forMs\": 500, \"movement\": 0.2, \"direction\": \"up\"", "direction: \"up\" is none of \"both\", \"positive\", \"negative\"")]
    [InlineData("\"torque\": 60, \"forMs\": 500, \"movement\": 0.2, \"everyHours\": 0", "everyHours: 0 must be above 0 and at most 8784 h")]
    [InlineData("\"torque\": 60, \"forMs\": 500, \"movement\": 0.2, \"everyHours\": 9000", "everyHours: 9000 must be above 0 and at most 8784 h")]
    [InlineData("\"torque\": 60, \"forMs\": 500, \"movement\": 0.2, \"everyHours\": 24, \"whenOverdue\": \"refuse\", \"graceHours\": -1", "graceHours: -1 must be 0 to 8784 h")]
    [InlineData("\"torque\": 60, \"forMs\": 500, \"movement\": 0.2, \"everyHours\": 24, \"whenOverdue\": \"stop\"", "whenOverdue: \"stop\" is none of \"warn\", \"refuse\"")]
    [InlineData("\"torque\": 60, \"forMs\": 500, \"movement\": 0.2, \"whenOverdue\": \"refuse\"", "whenOverdue: counts from the interval between proofs; give \"everyHours\" as well")]
    [InlineData("\"torque\": 60, \"forMs\": 500, \"movement\": 0.2, \"graceHours\": 8", "graceHours: counts from the interval between proofs; give \"everyHours\" as well")]
    [InlineData("\"torque\": 60, \"forMs\": 500, \"movement\": 0.2, \"everyHours\": 24, \"graceHours\": 8", "graceHours: is the time until motion is refused; say \"whenOverdue\": \"refuse\", or take it out")]
    [InlineData("\"torque\": 60, \"forMs\": 500, \"movement\": 0.2, \"everyHour\": 24", "everyHour: unknown member; did you mean \"everyHours\"?")]
    public void Read_WrongProof_IsTold(string members, string expected) => Assert.Equal(["axes[0].brake.proof." + expected], Errors(Brake, Proof(members)));

    [Fact]
    public void Read_ProofThatIsNoObject_IsTold() =>
        Assert.Equal(["axes[0].brake.proof: an object is expected, found the number 3"], Errors(Brake, "axes[0].brake.proof = 3"));

    [Theory]
    [InlineData("")]
    [InlineData(Brake + "\nfeedback[3] -")]
    [InlineData(Brake + "\ncommand[6] -")]
    public void Read_DriveThatCannotBeProven_IsToldWithWhatItNeeds(string driveEdits)
    {
        // Without a torque limit the file's own limits could not be kept either; without a torque nothing else of this file is lost.
        var expected = driveEdits.Contains("command[6]", StringComparison.Ordinal)
            ? "axes[0].torque -\n" : "";

        Assert.Equal(
            ["axes[0].brake.proof: drive \"Reference drive\" must declare \"holdBrake\", the command field \"torqueLimit\" and the feedback field \"torque\": the brake is kept closed by the first, the torque bounded by the second and seen by the third"],
            Errors(driveEdits, expected + Proof("\"torque\": 60, \"forMs\": 500, \"movement\": 0.2")));
    }

    [Fact]
    public void Read_TorqueThatOnlyLiftsTheLoadOffTheBrake_IsTold() => Assert.Equal(
        ["axes[0].brake.proof.torque: 24 % would only take the load off the brake: gravityTorque 20 % and a margin of 25 % make 25 %"],
        Errors(Brake, "axes[0].gravityTorque = 20\n" + Proof("\"torque\": 24, \"forMs\": 500, \"movement\": 0.2")));

    [Fact]
    public void Read_TorqueBeyondTheDrivesRegister_IsTold() => Assert.Equal(
        ["axes[0].brake.proof.torque: 200 % would be 80000 in the drive's \"torqueLimit\", which holds 0 to 65535"],
        Errors(Brake + "\ncommand[6].scale = 0.0025", Proof("\"torque\": 200, \"forMs\": 500, \"movement\": 0.2")));

    [Fact]
    public void Read_SeveralWrong_AreAllTold() => Assert.Equal(
        ["axes[0].brake.proof.forMs: is missing: how long the brake must hold it", "axes[0].brake.proof.torque: 0 must be above 0 and at most 300 % of rated", "axes[0].brake.proof.direction: \"up\" is none of \"both\", \"positive\", \"negative\""],
        Errors(Brake, Proof("\"torque\": 0, \"movement\": 0.2, \"direction\": \"up\"")));

    private static string Proof(string members) => $"axes[0].brake.proof = {{ {members} }}";

    private static string[] Errors(string driveEdits, string machineEdits) =>
        [.. Read(driveEdits, machineEdits).Errors.Select(error => Place().Replace(error.ToString(), ""))];

    private static FileResult<MachineDefinition> Read(string driveEdits, string machineEdits)
    {
        using var folder = new TestFolder();
        folder.Write("reference.drive.json", EditedJson.Apply(Samples.Example("reference.drive.json"), driveEdits));
        return MachineFile.Read(folder.Write("machine.json", EditedJson.Apply(Samples.Example("machine.json"), machineEdits)));
    }

    [GeneratedRegex(@"^[^:]*:\d+:\d+: ")]
    private static partial Regex Place();
}
