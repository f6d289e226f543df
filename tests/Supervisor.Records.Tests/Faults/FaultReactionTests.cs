using Supervisor.Records.Faults;

namespace Supervisor.Records.Tests.Faults;

public sealed class FaultReactionTests
{
    /// <summary>IEC 60204-1, 9.2.2 (secondary text): 0 immediate removal of power, 1 controlled stop and then removal, 2 controlled stop with power kept.</summary>
    [Theory]
    [InlineData(StopReaction.CutPower, 0)]
    [InlineData(StopReaction.QuickStopThenOff, 1)]
    [InlineData(StopReaction.StopAndHold, 2)]
    [InlineData(StopReaction.None, null)]
    [InlineData(StopReaction.AsInterlock, null)]
    [InlineData(StopReaction.HoldLoad, null)]
    public void Category_OfAReaction_IsTheStandards(StopReaction reaction, int? expected) => Assert.Equal(expected, FaultReaction.Category(reaction));

    [Fact]
    public void Of_EveryClass_StopsUnlessItIsAWarning()
    {
        foreach (var faults in Enum.GetValues<FaultClass>())
        {
            var stops = faults is not (FaultClass.None or FaultClass.Warning);
            Assert.Equal(stops, FaultReaction.Of(faults).Axis != StopReaction.None);
            Assert.Equal(stops, FaultReaction.Of(faults).Group != StopReaction.None);
        }
    }

    [Fact]
    public void Reaction_OfAnEntry_IsThatOfItsClassOrSaidOnPurpose()
    {
        FaultCode[] onPurpose =
        [
            FaultCode.EnergisingTimeout, FaultCode.BrakeProofFailed, FaultCode.LoadHeldByTorque, FaultCode.StopFailed, FaultCode.ChannelDiscrepancy,
            FaultCode.ContactorWelded, FaultCode.ContactorMissing, FaultCode.ContactorFell, FaultCode.PowerDropped,
            FaultCode.ModuleErrorsTooMany,
        ];

        Assert.Equal(
            onPurpose.Order(),
            FaultCatalogue.Entries.Where(entry => entry.Reaction != FaultReaction.Of(entry.Class)).Select(entry => entry.Code));
    }

    [Fact]
    public void Consequence_OfAContactThatTheFileMayHaveFail_TellsBoth()
    {
        Assert.Equal(
            [FaultCode.ContactMissing, FaultCode.ContactTooEarly],
            FaultCatalogue.Entries.Where(entry => entry.AsFailedCommand is not null).Select(entry => entry.Code));
        var consequence = FaultCatalogue.Entry(FaultCode.ContactMissing).Consequence;
        Assert.StartsWith(FaultReaction.Of(FaultClass.TimeOut).Describe(), consequence, StringComparison.Ordinal);
        Assert.EndsWith("the axis stops and keeps its torque; its group goes on.", consequence, StringComparison.Ordinal);
    }

    /// <summary>Only what says that the axis no longer obeys, or never had torque, costs the braking that a quick stop gives.</summary>
    [Fact]
    public void ReactionTo_WhatCutsPower_IsAFailedStopOrNoTorque() =>
        Assert.Equal(
            [FaultCode.EnergisingTimeout, FaultCode.StopFailed, FaultCode.PowerDropped],
            FaultCatalogue.Entries.Where(entry => entry.Reaction.Axis == StopReaction.CutPower).Select(entry => entry.Code));

    [Fact]
    public void ReactionTo_NumberOfANewerVersion_Stops() =>
        Assert.Equal(FaultReaction.Of(FaultClass.Grave), FaultCatalogue.ReactionTo((FaultCode)60_000));

    [Fact]
    public void Describe_EveryPair_IsOneSentence()
    {
        foreach (var axis in Enum.GetValues<StopReaction>())
        {
            foreach (var group in Enum.GetValues<StopReaction>())
            {
                var text = new FaultReaction(axis, group).Describe();
                Assert.True(char.IsUpper(text[0]) && text.IndexOf('.', StringComparison.Ordinal) == text.Length - 1, text);
            }
        }
    }
}
